from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from trips.documents.scripts import NoFont, PaperFailed
from trips.documents.wording.papers import paper_fault
from trips.management.plain_command import PlainCommand, Refusal, read_bytes, reason_words, write_bytes
from trips.selectors.trip_named import NoSuchTrip, SeveralTrips, trip_named, trip_named_sentence
from trips.services.papers import PaperOrder, paper_files, papers_print, rota_for_papers, rota_papers
from trips.services.pictures import MAX_BYTES, picture_prepare
from trips.services.press import PAGE_SIZES


class Command(PlainCommand):
    """Print a trip's papers into a folder."""

    help = "Print all papers of a trip: the briefings into DIR, sheets, cards, tables and forms into DIR/papers."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("folder", metavar="DIR", help="where to write; made if missing")
        parser.add_argument("--page-size", choices=PAGE_SIZES, default="A4")
        parser.add_argument(
            "--meeting-picture", metavar="FILE", help="a picture of the meeting point for the briefings"
        )
        parser.add_argument("--briefings-only", action="store_true", help="leave out sheets, cards, tables and forms")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            trip = trip_named(options["trip"])
        except (NoSuchTrip, SeveralTrips) as unknown:
            raise Refusal(trip_named_sentence(unknown)) from unknown
        folder = _folder(options["folder"])
        try:
            rota = rota_for_papers(trip)
            papers = rota_papers(rota=rota, now=timezone.now())
            order = PaperOrder(
                page_size=options["page_size"],
                meeting_picture=_picture(options["meeting_picture"]),
                briefings_only=options["briefings_only"],
            )
            printed = papers_print(list(paper_files(rota=rota, papers=papers, order=order)))
        except (NoFont, PaperFailed) as failed:
            raise Refusal(paper_fault(failed), returncode=1) from failed
        for name, content in printed:
            _folder(str((folder / name).parent))
            write_bytes(str(folder / name), content)
        state = "draft, not issued" if papers.head.draft else "issued"
        self.stdout.write(f"{len(printed)} papers of rota {rota.number} ({state}) are in {folder}.")


def _folder(name: str) -> Path:
    folder = Path(name)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as wrong:
        raise Refusal(f"{name} cannot be written: {reason_words(wrong)}.") from wrong
    return folder


def _picture(name: str | None) -> Any:
    return picture_prepare(read_bytes(name, at_most=MAX_BYTES)) if name else None
