"""The steps of the demo before it is served: tables, the invented trip, its rota, papers and calendars, a summary."""

import os
import re
import shutil
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

import django
from django.apps import apps
from django.core.management import CommandError, call_command

SEED, EFFORT = 1, 10


def main(target: Path) -> int:
    """0 when everything is written; otherwise one sentence on stderr and the number of the step that refused."""
    try:
        run(target)
    except CommandError as refusal:
        print(refusal, file=sys.stderr)
        return refusal.returncode
    except OSError as wrong:
        print(f"{wrong.filename or target} cannot be written: {wrong.strerror}.", file=sys.stderr)
        return 1
    return 0


def run(target: Path) -> None:
    django.setup()
    empty(target)
    call_command("migrate", verbosity=0)
    call_command("load_demo")
    trip = apps.get_model("trips", "Trip").objects.get()
    named = str(trip.uuid)
    call_command("plan", named, "--seed", str(SEED), "--effort", str(EFFORT))
    call_command("check_rota", named)
    call_command("write_papers", named, str(target))
    places = apps.get_model("trips", "Place").objects.filter(trip=trip, state="confirmed").select_related("participant")
    call_command("write_calendar", named, str(target / "calendar-trip.ics"))
    for place in places:
        file = target / f"calendar-{safe_name(place.participant.name)}.ics"
        call_command("write_calendar", named, str(file), "--person", str(place.participant.uuid))
    counted = {ending: len(list(target.rglob(f"*{ending}"))) for ending in (".pdf", ".ics")}
    print(f"{target}/ holds {counted['.pdf']} PDFs and {counted['.ics']} calendars.")


def empty(target: Path) -> None:
    """What an earlier demo wrote goes; the folder itself stays."""
    target.mkdir(exist_ok=True)
    for entry in target.iterdir():
        if entry.is_dir():
            shutil.rmtree(entry)
        else:
            entry.unlink()


def safe_name(name: str) -> str:
    """A name as a file name: letters and digits of any script, joined by hyphens."""
    return re.sub(r"\W+", "-", name.casefold()).strip("-") or "person"


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
