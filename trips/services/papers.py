"""Papers of a rota: what an issue keeps of them, and the files people get.

What was issued is printed from what the issue kept, so a paper printed again says what was told; a draft is worked
out anew and marked. Door cards, the gear table and forms follow today's facts.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Q

from trips.assemble.day_papers import DayPapers
from trips.assemble.days import RotaPages
from trips.assemble.hide_papers import door_cards, gear_table, registration_forms
from trips.assemble.paper_facts import person_facts, trip_facts, trip_zone
from trips.assemble.trip import TripValues, trip_values
from trips.documents.briefing import PaperHead
from trips.documents.briefing_pages import briefing_from
from trips.documents.day_sheet import DaySheet
from trips.documents.days import DaysPage, page_of
from trips.documents.file_names import FileNames
from trips.documents.frozen_json import from_json
from trips.documents.meals import DayMeals
from trips.documents.owner_sheet import OwnerSheet
from trips.documents.paper_facts import BriefingSource, PersonFacts, TripFacts
from trips.documents.quantities import stamp_text
from trips.documents.scripts import PaperFailed
from trips.models import Issue, Rota, RotaState, Trip
from trips.selectors.meal import meals_by_day
from trips.selectors.my import PEOPLE
from trips.selectors.packing import trip_needs
from trips.selectors.trip import leader_phones
from trips.services import print_jobs
from trips.services.pdf import Asset, PrintJob, job_pdf

DRAWINGS = "drawings"
PAYLOADS = ("pages", "papers", "events")  # of an issue: megabytes, read where papers are printed
BRIEFINGS, OTHERS = "", "papers/"  # folders of the files


@dataclass(frozen=True)
class RotaPapers:
    """All values of a rota's papers; people and pages by place uuid, owners' sheets by site uuid.

    `meals` are those of today, never of the issue.
    """

    head: PaperHead
    trip: TripFacts
    pages: dict[str, DaysPage]
    people: dict[str, PersonFacts]
    days: tuple[DaySheet, ...]
    owners: dict[str, tuple[OwnerSheet, ...]]
    drawings: dict[str, str]
    meals: tuple[DayMeals, ...] = ()


@dataclass(frozen=True)
class PaperOrder:
    """What is wanted: page size, a picture of the meeting point, and (empty: everybody) only these places' briefings.

    `briefings_only`: leave out the sheets, cards and forms.
    """

    page_size: str = "A4"
    meeting_picture: Asset | None = None
    places: tuple[str, ...] = ()
    briefings_only: bool = False


@dataclass(frozen=True)
class PaperFile:
    """A file to be printed: its safe name (with its folder) and its print job."""

    name: str
    job: PrintJob


def rota_for_papers(trip: Trip) -> Rota | None:
    """The issued rota of a trip, else its newest draft, but none that is not sound yet; None where there is none."""
    rotas = trip.rotas.select_related("issue", "trip__leader").defer(*(f"issue__{name}" for name in PAYLOADS))
    drafts = rotas.filter(Q(result__is_sound__isnull=True) | ~Q(result__is_sound=False), state=RotaState.DRAFT)
    return rotas.filter(state=RotaState.ISSUED).first() or drafts.order_by("-number").first()


def rota_papers(*, rota: Rota, now: datetime) -> RotaPapers:
    """The values of all papers of a rota: as issued, or worked out anew and marked as a draft."""
    issue = getattr(rota, "issue", None)
    if issue is not None and issue.papers.get("trip"):
        return _papers_kept(rota, issue, now)
    values = trip_values(rota.trip)
    made = RotaPages(rota, values)
    return papers_made(rota, made, _head(rota, None, now, trip_facts(values).time_zone), drawings=True)


def trip_files(*, trip: Trip, rota: Rota | None, order: PaperOrder, now: datetime) -> list[PaperFile]:
    """The files of a trip, unprinted: of its rota and the standing ones, or these alone where there is no rota.

    Raises PaperFailed for briefings without a rota.
    """
    if rota is not None:
        return list(paper_files(rota=rota, papers=rota_papers(rota=rota, now=now), order=order))
    if order.briefings_only:
        raise PaperFailed(reason="no_rota", detail=trip.name)
    values = trip_values(trip)
    zone = trip_zone(values)
    made = stamp_text(now.astimezone(ZoneInfo(zone)), zone)
    head = PaperHead(trip=trip.name, title="", rota="", made=made, time_zone=zone, leaders=leader_phones(trip))
    return list(_standing_files(values, head, FileNames(), order.page_size))


def paper_files(*, rota: Rota, papers: RotaPapers, order: PaperOrder) -> Iterator[PaperFile]:
    """Every file of the order, unprinted; names are safe on any system and never the same twice."""
    names = FileNames()
    wanted = order.places or tuple(papers.people)
    for key in sorted(wanted, key=lambda key: (papers.people[key].name, key) if key in papers.people else ("", key)):
        if key not in papers.people:
            raise PaperFailed(reason="no_person", detail=key)
        yield PaperFile(names.safe(BRIEFINGS, "briefing", papers.people[key].name), _briefing(papers, key, order))
    if order.briefings_only:
        return
    size = order.page_size
    meals = {day.day: day.meals for day in papers.meals}
    for day in papers.days:
        sheet = replace(day, head=_titled(papers, "Day sheet"), meals=meals.get(day.day, ()))
        yield PaperFile(names.safe(OTHERS, "day-sheet", day.day.isoformat()), print_jobs.day_sheet(sheet, size))
    for sheets in papers.owners.values():
        for owners in sheets:
            yield PaperFile(
                names.safe(OTHERS, "owner-sheet", f"{owners.day.isoformat()}-{owners.site}"),
                print_jobs.owner_sheet(replace(owners, head=_titled(papers, "Owner's sheet")), size),
            )
    yield from _standing_files(trip_values(rota.trip), papers.head, names, size)


def papers_print(
    files: Iterator[PaperFile] | list[PaperFile], *, told: Callable[[int, int], None] | None = None
) -> list[tuple[str, bytes]]:
    """The printed files by name. `told`: called after each with how many are done and how many there are.

    Raises NoFont or PaperFailed at the first paper that cannot be made whole; nothing is kept then.
    """
    waiting = list(files)
    done: list[tuple[str, bytes]] = []
    for file in waiting:
        done.append((file.name, job_pdf(file.job)))
        if told is not None:
            told(len(done), len(waiting))
    return done


def _standing_files(values: TripValues, head: PaperHead, names: FileNames, size: str) -> Iterator[PaperFile]:
    """Door cards, the gear table and the forms, from today's facts: they name no rota."""
    head = replace(head, rota="", draft=False)
    for card in door_cards(values, replace(head, title="Door card")).values():
        yield PaperFile(names.safe(OTHERS, "door-card", card.hide), print_jobs.door_card(card, size))
    table = gear_table(values, replace(head, title="Gear table"))
    yield PaperFile(names.safe(OTHERS, "gear-table", ""), print_jobs.gear_table(table, size))
    for form in registration_forms(values, replace(head, title="Registration form")):
        yield PaperFile(names.safe(OTHERS, "registration-form", form.person), print_jobs.registration_form(form, size))


def _briefing(papers: RotaPapers, key: str, order: PaperOrder) -> PrintJob:
    person = papers.people[key]
    source = BriefingSource(
        head=_titled(papers, "Briefing"),
        page=papers.pages[key],
        person=person,
        trip=papers.trip,
        page_url=f"{settings.PUBLIC_URL}{person.page_path}" if settings.PUBLIC_URL else "",
        drawings=papers.drawings,
        names={place: one.name for place, one in papers.people.items()},
        meals=papers.meals,
    )
    return print_jobs.briefing_job(briefing_from(source), order.page_size, order.meeting_picture)


def _titled(papers: RotaPapers, title: str) -> PaperHead:
    return replace(papers.head, title=title)


def papers_made(rota: Rota, made: RotaPages, head: PaperHead, *, drawings: bool) -> RotaPapers:
    """The values of all papers, worked out from a rota's rows."""
    values = made.values
    pages = {str(place.uuid): made.page(place) for place in values.place_rows}
    people = {}
    for place in values.place_rows:
        key = str(place.uuid)
        hides = {session.turn.hide_key for session in pages[key].sessions if session.turn}
        people[key] = person_facts(values, place, hides, trip_needs(values, place, hides))
    sheets = DayPapers(rota, made, pages)
    return RotaPapers(
        head=head,
        trip=trip_facts(values),
        pages=pages,
        people=people,
        days=sheets.day_sheets(head),
        owners=sheets.owner_sheets(head),
        drawings=made.drawings() if drawings else {},
        meals=meals_by_day(rota.trip),
    )


def _papers_kept(rota: Rota, issue: Issue, now: datetime) -> RotaPapers:
    kept = issue.papers
    trip = from_json(TripFacts, kept["trip"])
    return RotaPapers(
        head=_head(rota, issue, now, trip.time_zone),
        trip=trip,
        pages={key: page_of(page) for key, page in issue.pages[PEOPLE].items() if key in kept["people"]},
        people=_people_kept(rota, kept["people"]),
        days=tuple(from_json(DaySheet, one) for one in kept["days"]),
        owners={key: tuple(from_json(OwnerSheet, one) for one in own) for key, own in kept["owners"].items()},
        drawings=kept.get(DRAWINGS, {}),
        meals=meals_by_day(rota.trip),
    )


def _people_kept(rota: Rota, kept: dict[str, Any]) -> dict[str, PersonFacts]:
    """What the issue kept of people, with their names and emergency contacts as they are today."""
    rows = {str(place.uuid): place.participant for place in rota.trip.places.select_related("participant")}
    found = {}
    for key, one in kept.items():
        facts = from_json(PersonFacts, one)
        if key in rows:
            facts = replace(facts, name=rows[key].name, emergency_contact=rows[key].emergency_contact)
        found[key] = facts
    return found


def _head(rota: Rota, issue: Issue | None, now: datetime, time_zone: str) -> PaperHead:
    zone = ZoneInfo(time_zone)
    state = "draft"
    if issue is not None:
        state = f"{rota.state}, told {stamp_text(issue.issued_at.astimezone(zone), time_zone)}"
    return PaperHead(
        trip=rota.trip.name,
        title="",
        rota=f"rota {rota.number}, {state}",
        made=stamp_text(now.astimezone(zone), time_zone),
        time_zone=time_zone,
        draft=issue is None,
        leaders=leader_phones(rota.trip),
    )
