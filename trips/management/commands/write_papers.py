from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from trips.documents.scripts import NoFont, PaperFailed
from trips.documents.wording.papers import paper_fault
from trips.management.plain_command import PlainCommand, Refusal, read_bytes, reason_words, write_bytes
from trips.models import Rota, RotaState
from trips.selectors.trip_named import trip_named
from trips.services.papers import PaperOrder, papers_print, rota_for_papers, trip_files
from trips.services.pdf import PAGE_SIZES
from trips.services.print_jobs import MAX_BYTES, picture_prepare

LEFT_OUT = " The trip has no rota yet: briefings, day sheets and owner's sheets are left out."


class Command(PlainCommand):
    """Print all papers of a trip: the briefings into DIR, sheets, cards, tables and forms into DIR/papers."""

    examples = ('"May at the estate" papers-out --page-size Letter',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("folder", metavar="DIR", help="where to write; made if missing")
        parser.add_argument("--page-size", choices=PAGE_SIZES, default="A4")
        parser.add_argument(
            "--meeting-picture", metavar="FILE", help="a picture of the meeting point for the briefings"
        )
        parser.add_argument("--briefings-only", action="store_true", help="leave out sheets, cards, tables and forms")

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        folder = _folder(options["folder"])
        try:
            rota = rota_for_papers(trip)
            order = PaperOrder(
                page_size=options["page_size"],
                meeting_picture=_picture(options["meeting_picture"]),
                briefings_only=options["briefings_only"],
            )
            printed = papers_print(trip_files(trip=trip, rota=rota, order=order, now=timezone.now()))
        except (NoFont, PaperFailed) as failed:
            raise Refusal(paper_fault(failed), returncode=1) from failed
        for name, content in printed:
            _folder(str((folder / name).parent))
            write_bytes(str(folder / name), content)
        self.stdout.write(f"{_told(len(printed), rota)} are in {folder}.{'' if rota else LEFT_OUT}")


def _told(count: int, rota: Rota | None) -> str:
    if rota is None:
        return f"{count} forms, cards and tables"
    state = "issued" if rota.state == RotaState.ISSUED else "draft, not issued"
    return f"{count} papers of rota {rota.number} ({state})"


def _folder(name: str) -> Path:
    folder = Path(name)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as wrong:
        raise Refusal(f"{name} cannot be written: {reason_words(wrong)}.") from wrong
    return folder


def _picture(name: str | None) -> Any:
    return picture_prepare(read_bytes(name, at_most=MAX_BYTES)) if name else None
