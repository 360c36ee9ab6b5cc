"""Papers, calendars and pages whose names run from right to left, or were typed with marks that turn a line round."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from unicodedata import bidirectional

import icalendar
import pytest
from django.urls import get_resolver, reverse

from tests import factories
from tests.trips import paper_values as values
from tests.trips.issued_trips import issue, seated_rota
from tests.trips.paper_reading import one_line, page_texts, text_of
from trips import models
from trips.documents.day_sheet import PickUpLine
from trips.documents.quantities import Fact
from trips.services import print_jobs
from trips.services.calendars import CalendarOf, calendar_bytes
from trips.services.pdf import job_pdf

HEBREW, ARABIC = "בית הציפורים", "مخبأ الطيور"


@pytest.mark.parametrize("name", [HEBREW, ARABIC, "Alder"])
def test_the_view_of_a_hide_is_read_from_its_start_to_its_end(name):
    sheet = values.day_sheet()
    lines = (PickUpLine(name, "10:30–10:45", True), PickUpLine(name, "10:30–10:45"))
    session = replace(sheet.sessions[0], pick_ups=lines)
    text = one_line(text_of(job_pdf(print_jobs.day_sheet(replace(sheet, sessions=(session,))))))
    told = "(light still front, ask first)"
    assert f"Fetched after a signal: {name} 10:30–10:45 {told}; {name} 10:30–10:45" in text


def test_a_typed_override_turns_neither_the_foot_nor_the_lines_of_a_paper():
    sheet = values.day_sheet(head=values.head(title="Day sheet", trip="Eve \u202emoc.live"))
    for page in page_texts(job_pdf(print_jobs.day_sheet(sheet))):
        assert "Eve moc.live · Day sheet, Saturday 8 May · rota 3, issued · made 7 May 2027 19:05" in one_line(page)


def test_the_dates_of_a_trip_with_a_hebrew_name_stand_in_order():
    paper = values.briefing(head=values.head(trip=HEBREW), dates="8 to 13 May 2027", sessions=())
    pdf = job_pdf(print_jobs.briefing_job(paper))
    assert "8 to 13 May 2027 · rota 3, issued" in page_texts(pdf)[0]


def test_names_are_printed_as_typed_without_a_mark_around_them():
    card = values.door_card(hide=HEBREW, facts=(Fact("Seats", "left, שמאל 2"),))
    text = text_of(job_pdf(print_jobs.door_card(card)))
    assert HEBREW in text
    assert not set(text) & set("\u2066\u2067\u2068\u2069")


# --- calendars, and what an issue keeps ----------------------------------------------------------------------------


def at_large(text: str) -> str:
    """The text without what stands in isolates, to any depth."""
    while (less := re.sub("\u2068[^\u2066-\u2069]*\u2069", "", text)) != text:
        text = less
    return text


def runs_free(text: str) -> bool:
    """Whether anything from right to left stands in the text outside of isolates."""
    return any(bidirectional(one) in ("R", "AL") for one in at_large(text))


@pytest.fixture
def hebrew_trip(db):
    trip = factories.planned_trip(people_count=3, hides=2, sessions=2)
    trip.name = "אביב 2027"
    trip.save()
    site = trip.sites.get()
    site.name, site.meeting_point, site.owner, site.owner_contact = "אחוזה", "השער 2", "יוסי", "600 000 001"
    site.save()
    for number, hide in enumerate(site.hides.all(), start=1):
        hide.name, hide.owner_tasks = f"בית {number}", "זרעים 3"
        hide.save()
        for seat, name in zip(hide.seats.all(), ("ימין", "שמאל"), strict=True):
            seat.name = name
            seat.save()
    for place, name in zip(trip.places.all(), ("אבי", "בני", "גיל"), strict=True):
        place.participant.name = name
        place.participant.save()
    car = models.Car.objects.create(trip=trip, name="רכב", plate="12-345-67 א", driver="דן", seats=6)
    for session in trip.sessions.all():
        run = models.Run.objects.create(session=session, car=car)
        for position, hide in enumerate(site.hides.all(), start=1):
            models.RunStop.objects.create(run=run, hide=hide, position=position)
    return trip


def entries(trip, **whose) -> list[icalendar.Event]:
    return icalendar.Calendar.from_ical(calendar_bytes(CalendarOf(trip, **whose))).events


def test_no_name_in_a_calendar_reaches_beyond_itself(hebrew_trip):
    issue(seated_rota(hebrew_trip))
    place, site = hebrew_trip.places.first(), hebrew_trip.sites.get()
    found = [*entries(hebrew_trip), *entries(hebrew_trip, place=place), *entries(hebrew_trip, site=site)]
    assert len(found) >= 10
    for event in found:
        for name in ("summary", "description", "location"):
            assert not runs_free(str(event.get(name, ""))), (name, str(event[name]))
    own = [str(event["summary"]) for event in entries(hebrew_trip, place=place)]
    assert "Leave 06:13 - \u2068בית 1\u2069, \u2068ימין\u2069" in own
    assert "with \u2068בני\u2069" in " ".join(str(event["description"]) for event in entries(hebrew_trip, place=place))


def test_a_calendars_own_name_joins_two_names(hebrew_trip):
    calendar = icalendar.Calendar.from_ical(calendar_bytes(CalendarOf(hebrew_trip, place=hebrew_trip.places.first())))
    assert str(calendar["name"]) == "\u2068אביב 2027\u2069: \u2068אבי\u2069"


def test_lines_of_the_sheets_that_join_names_keep_each_by_itself(hebrew_trip):
    state = models.SessionHide.objects.create(
        session=hebrew_trip.sessions.first(),
        hide=hebrew_trip.sites.get().hides.last(),
        state="unavailable",
        reason="3 שוורים",
    )
    rota = seated_rota(hebrew_trip)
    turn = rota.turns.filter(hide=state.hide).first()
    models.Rest.objects.create(rota=rota, session=turn.session, place=turn.place, reason="2 ימים")
    turn.delete()
    papers = issue(rota).papers
    joined = []
    for session in (one for day in papers["days"] for one in day["sessions"]):
        joined += [*session["rests"], *session["notes"]]
        joined += [drop["people"] for run in session["runs"] for drop in run["drops"]]
    for session in (one for sheet in papers["owners"][str(state.hide.site.uuid)] for one in sheet["sessions"]):
        joined += [*session["cars"], *session["closed"]]
        joined += [text for hide in session["hides"] for text in (*hide["people"], hide["cars"])]
    assert len(joined) >= 12
    assert not [text for text in joined if runs_free(text)]


# --- pages ----------------------------------------------------------------------------------------------------------


class Blocks(HTMLParser):
    """The text of a page, block by block: within one, and only there, a name can draw figures to its side."""

    INLINE = ("a", "abbr", "b", "bdi", "em", "i", "label", "small", "span", "strong")

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found, self._unseen = [""], 0
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self._unseen += tag in ("script", "style", "svg")
        if tag not in self.INLINE:
            self.found.append("")

    def handle_endtag(self, tag):
        self._unseen -= tag in ("script", "style", "svg")
        if tag not in self.INLINE:
            self.found.append("")

    def handle_data(self, data):
        if not self._unseen:
            self.found[-1] += data


DRAWN_ASIDE = re.compile("[\u0590-\u06ff][^A-Za-z\u0590-\u06ff]*[0-9]")  # nothing from left to right in between
PAGES = (
    "day-show", "gear-table", "hide-light", "meal-list", "my-briefing", "my-days", "out-show", "packing-show",
    "rota-show", "runs-edit", "told-list", "trip-hides", "trip-light", "turn-edit", "turn-why",
)  # fmt: skip


@pytest.fixture
def figureless_trip(hebrew_trip):
    """The trip, issued, with names that hold no figure of their own, and all that pages show beside names."""
    site, place = hebrew_trip.sites.get(), hebrew_trip.places.first()
    hebrew_trip.name = "אביב"
    hebrew_trip.save()
    site.meeting_point, site.meeting_latitude_deg, site.meeting_longitude_deg = "השער", 39.5, -6.2
    site.save()
    for hide, name in zip(site.hides.all(), ("אגם", "גבעה"), strict=True):
        hide.name, hide.owner_tasks = name, ""
        hide.save()
        hide.views.update(name="חלון")
    place.participant.phone = "600 000 001"
    place.participant.save()
    factories.meal(trip=hebrew_trip, name="ארוחה", place="בית", note="2")
    issue(seated_rota(hebrew_trip))
    return hebrew_trip


def path_of(name: str, trip) -> str:
    place, session, hide = trip.places.first(), trip.sessions.first(), trip.sites.get().hides.first()
    ways = {"trip_uuid": trip.uuid, "session_uuid": session.uuid, "person_uuid": place.participant.uuid}
    ways |= {"hide_uuid": hide.uuid, "number": trip.rotas.get().number, "who": str(place.uuid)}
    resolver = get_resolver().namespace_dict["trips"][1]
    wanted = resolver.reverse_dict.getlist(name)[0][0][0][1]
    return reverse(f"trips:{name}", kwargs={key: ways[key] for key in wanted})


@pytest.mark.parametrize("name", PAGES)
def test_no_name_on_a_page_draws_figures_to_its_side(client, figureless_trip, name):
    client.force_login(figureless_trip.leader)
    answer = client.get(path_of(name, figureless_trip))
    assert answer.status_code == 200
    blocks = Blocks(answer.content.decode()).found
    assert any("\u05d0" <= letter <= "\u05ea" for text in blocks for letter in text)
    assert not [text for text in blocks if DRAWN_ASIDE.search(" ".join(at_large(text).split()))]
