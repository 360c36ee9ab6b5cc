"""Papers and calendars of a rota, read back."""

from datetime import UTC, datetime

import icalendar

from tests.trips.paper_reading import one_line, text_of
from trips.services.papers import PaperOrder, paper_files, rota_for_papers, rota_papers
from trips.services.pdf import job_pdf

NOW = datetime(2027, 5, 7, 17, 5, tzinfo=UTC)


def files_of(trip, **order):
    rota = rota_for_papers(trip)
    papers = rota_papers(rota=rota, now=NOW)
    return {file.name: file for file in paper_files(rota=rota, papers=papers, order=PaperOrder(**order))}


def text_of_file(trip, start: str, **order) -> str:
    files = files_of(trip, **order)
    name = next(name for name in files if name.startswith(start))
    return one_line(text_of(job_pdf(files[name].job)))


def events_of(data: bytes) -> dict[str, icalendar.Event]:
    return {str(event["uid"]): event for event in icalendar.Calendar.from_ical(data).events}
