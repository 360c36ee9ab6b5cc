"""Papers and calendars: a briefing against the bare library on the same HTML, two processes against one, memory."""

import os
import resource
import statistics
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from multiprocessing import get_context
from pathlib import Path
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

import icalendar
import weasyprint
from weasyprint.text.fonts import FontConfiguration

from tests.trips import paper_values as values
from trips.documents.briefing_pages import Briefing
from trips.documents.ical import CalendarHead, EventPayload, IssuedPayloads, calendar_file, events_from_issues
from trips.services.pdf import job_html, job_pdf, packaged_assets, tries
from trips.services.print_jobs import briefing_job, day_sheet, gear_table

ROUNDS = 5
BRIEFINGS = 24
STYLESHEET = Path(__file__).resolve().parents[2] / "templates" / "papers" / "paper.css"


def rows() -> list[dict[str, Any]]:
    """One row for each promise; `ratio` = ours / rival."""
    return [
        briefing_row("briefing", values.briefing()),
        briefing_row("full briefing", values.full_briefing()),
        processes_row(),
        *long_rows(),
        calendar_row(),
    ]


def briefing_row(name: str, paper: Briefing) -> dict[str, Any]:
    """From the values of a briefing to its PDF, against the library alone on the finished HTML and stylesheet."""
    sheet = briefing_job(paper)
    fonts = FontConfiguration()
    fetcher = packaged_assets(sheet.assets)
    style = weasyprint.CSS(string=STYLESHEET.read_text(), font_config=fonts, url_fetcher=fetcher)

    def bare() -> bytes:
        page = weasyprint.HTML(string=html, url_fetcher=fetcher)
        return bytes(page.write_pdf(font_config=fonts, stylesheets=[style], pdf_variant="pdf/ua-1"))

    for tried in tries(sheet):  # the rival gets the layout that fits
        html = job_html(tried)
        page = weasyprint.HTML(string=html, url_fetcher=fetcher)
        pages = page.render(font_config=fonts, stylesheets=[style], pdf_variant="pdf/ua-1").pages
        if tried.most_pages is None or len(pages) <= tried.most_pages:
            break
    ours_ms, rival_ms = side_by_side(lambda: job_pdf(briefing_job(paper)), bare)
    return {"name": name, "ours_ms": ours_ms, "rival_ms": rival_ms, "peak_mb": peak_mb(), "at_most": 1.15}


def processes_row() -> dict[str, Any]:
    """Twenty-four briefings in two processes against the same in one; needs both cores free."""
    took = {count: _printed_by(count) for count in (1, 2)}
    return {
        "name": f"{BRIEFINGS} briefings, two processes against one",
        "ours_ms": took[2],
        "rival_ms": took[1],
        "at_most": 1 / 1.6,
    }


def long_rows() -> list[dict[str, Any]]:
    """Long tables: ten people in sixteen sessions on one paper, and five hundred rows; below 10 s and 500 MB."""
    sheet = values.day_sheet(10)
    plan = replace(sheet, sessions=sheet.sessions[:1] * 16)
    papers = {
        "plan of 10 people by 16 sessions": day_sheet(plan),
        "table of 500 rows": gear_table(values.gear_table(500)),
    }
    found = []
    for name, paper in papers.items():
        start = time.process_time()
        job_pdf(paper)
        took = (time.process_time() - start) * 1000.0
        found.append({"name": name, "ours_ms": took, "rival_ms": None, "peak_mb": peak_mb(), "at_most_ms": 10_000})
    return found


def calendar_row() -> dict[str, Any]:
    """A calendar of 480 turns from stored payloads, against the library writing the same finished components."""
    first = datetime(2027, 5, 8, 4, 45, tzinfo=UTC)
    text = "Car leaves 06:06 on Saturday 8 May (Europe/Madrid, UTC+02:00)\n" * 5
    turn = EventPayload("turn", first, first + timedelta(hours=4), "Alder, left (early)", text, "the gate", 69)
    payloads = tuple(replace(turn, uid=f"turn-{number}") for number in range(480))
    events = events_from_issues([IssuedPayloads(first, payloads)])
    head = CalendarHead("calendar", "Oaks and water 2027")
    finished = icalendar.Calendar.from_ical(calendar_file(head, events))
    ours_ms, rival_ms = side_by_side(lambda: calendar_file(head, events), finished.to_ical)
    return {"name": "calendar of 480 turns", "ours_ms": ours_ms, "rival_ms": rival_ms, "at_most": 1.5}


def side_by_side(ours: Callable[[], object], rival: Callable[[], object]) -> tuple[float, float]:
    """Median milliseconds of processor time of both, taken in turns after a warm-up."""
    ours(), rival()
    took: tuple[list[float], list[float]] = ([], [])
    for _ in range(ROUNDS):
        for times, call in zip(took, (ours, rival), strict=True):
            start = time.process_time()
            call()
            times.append((time.process_time() - start) * 1000.0)
    return statistics.median(took[0]), statistics.median(took[1])


def peak_mb() -> float:
    """The most memory this process has held, megabytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def _print_one(number: int) -> int:
    return len(job_pdf(briefing_job(values.briefing(person=f"Person {number}"))))


def _printed_by(processes: int) -> float:
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        list(pool.map(_print_one, range(processes * 2)))  # warm
        start = time.perf_counter()
        list(pool.map(_print_one, range(BRIEFINGS)))
        return (time.perf_counter() - start) * 1000.0
