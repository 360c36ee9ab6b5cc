"""Papers of a rota: what an issue keeps of them, and the files people get.

What was issued is printed from what the issue kept, so a paper printed again says what was told; a draft is worked
out anew and marked. Door cards, the gear table and forms follow today's facts.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Q

from participants.core.language import gettext as _
from participants.speaking import ENGLISH, language_of, speaking
from trips.assemble.day_papers import DayPapers
from trips.assemble.days import RotaPages
from trips.assemble.hide_papers import door_cards, gear_table, registration_forms
from trips.assemble.paper_facts import person_facts, trip_facts, trip_zone
from trips.assemble.trip import TripValues, trip_values
from trips.documents.briefing import PaperHead
from trips.documents.briefing_pages import Briefing, briefing_from
from trips.documents.day_sheet import DaySheet
from trips.documents.days import DaysPage, page_of
from trips.documents.file_names import FileNames
from trips.documents.frozen_json import from_json
from trips.documents.meals import DayMeals
from trips.documents.owner_sheet import OwnerSheet
from trips.documents.paper_facts import BriefingSource, PersonFacts, TripFacts
from trips.documents.quantities import Fact, rota_words, stamp_text
from trips.documents.rota_sheet import rota_sheet
from trips.documents.safety import take_care
from trips.documents.scripts import PaperFailed
from trips.models import Issue, Rota, RotaState, Trip
from trips.selectors.meal import meals_by_day
from trips.selectors.my import PEOPLE
from trips.selectors.packing import trip_needs
from trips.selectors.trip import leader_phones, person_phones
from trips.services import print_jobs
from trips.services.pdf import Asset, PrintJob, job_pdf

Heads = Callable[[str], PaperHead]
DRAWINGS = "drawings"
PAYLOADS = ("pages", "papers", "events")  # of an issue: megabytes, read where papers are printed
BRIEFINGS, OTHERS = "", "papers/"  # folders of the files


@dataclass(frozen=True)
class RotaPapers:
    """All values of a rota's papers; people and pages by place uuid, owners' sheets by site uuid.

    `heads`: the head in a language. `meals` and people's `phones` are those of today, never of the issue.
    """

    heads: Heads
    trip: TripFacts
    pages: dict[str, DaysPage]
    people: dict[str, PersonFacts]
    days: tuple[DaySheet, ...]
    owners: dict[str, tuple[OwnerSheet, ...]]
    drawings: dict[str, str]
    meals: tuple[DayMeals, ...] = ()
    phones: tuple[Fact, ...] = ()


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
    return papers_made(rota, made, _heads(rota, None, now, trip_facts(values).time_zone), drawings=True)


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
    return list(_standing_files(values, _heads(None, None, now, zone, trip), FileNames(), order.page_size))


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
        sheet = replace(day, head=_titled(papers, "Day sheet"), meals=meals.get(day.day, ()), phones=papers.phones)
        yield PaperFile(names.safe(OTHERS, "day-sheet", day.day.isoformat()), print_jobs.day_sheet(sheet, size))
    for owners in (sheet for sheets in papers.owners.values() for sheet in sheets):
        yield PaperFile(
            names.safe(OTHERS, "owner-sheet", f"{owners.day.isoformat()}-{owners.site}"),
            print_jobs.owner_sheet(replace(owners, head=_owner_head(papers, owners.language)), size),
        )
    people = [(papers.people[key].name, page) for key, page in papers.pages.items() if key in papers.people]
    wall = rota_sheet(_titled(papers, "Rota"), people)
    yield PaperFile(names.safe(OTHERS, "rota-sheet", ""), print_jobs.rota_sheet(wall, size))
    yield from _standing_files(trip_values(rota.trip), papers.heads, names, size)


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


def _standing_files(values: TripValues, heads: Heads, names: FileNames, size: str) -> Iterator[PaperFile]:
    """Door cards, the gear table, cautions and the forms, from today's facts: they name no rota.

    Cards and forms come in every language of the trip's people, English first.
    """
    spoken = {language: replace(heads(language), rota="", draft=False) for language in _languages(values)}
    for language, head in spoken.items():
        with speaking(language):
            cards = door_cards(values, replace(head, title=_("Door card")))
            care = take_care(replace(head, title=_("Take care")))
        yield PaperFile(names.safe(OTHERS, f"take-care{_ending(language)}", ""), print_jobs.take_care(care, size))
        for card in cards.values():
            name = names.safe(OTHERS, f"door-card{_ending(language)}", card.hide)
            yield PaperFile(name, print_jobs.door_card(card, size))
    table = gear_table(values, replace(spoken[ENGLISH], title="Gear table"))
    yield PaperFile(names.safe(OTHERS, "gear-table", ""), print_jobs.gear_table(table, size))
    for language, head in spoken.items():
        with speaking(language):
            forms = registration_forms(values, replace(head, title=_("Registration form")))
        for form in forms:
            kind = "registration-form" + ("" if form.person else _ending(language))
            yield PaperFile(names.safe(OTHERS, kind, form.person), print_jobs.registration_form(form, size))


def _languages(values: TripValues) -> list[str]:
    others = {language_of(row.participant) for row in values.place_rows} - {ENGLISH}
    return [ENGLISH, *sorted(others)]


def _ending(language: str) -> str:
    """What tells a file in another language from that in English."""
    return "" if language == ENGLISH else f"-{language}"


def _briefing(papers: RotaPapers, key: str, order: PaperOrder) -> PrintJob:
    person = papers.people[key]
    with speaking(person.language):
        return print_jobs.briefing_job(_briefing_values(papers, key), order.page_size, order.meeting_picture)


def _briefing_values(papers: RotaPapers, key: str) -> Briefing:
    person = papers.people[key]
    source = BriefingSource(
        head=replace(papers.heads(person.language), title=_("Briefing")),
        page=papers.pages[key],
        person=person,
        trip=papers.trip,
        page_url=f"{settings.PUBLIC_URL}{person.page_path}" if settings.PUBLIC_URL else "",
        drawings=papers.drawings,
        names={place: one.name for place, one in papers.people.items()},
        meals=papers.meals,
    )
    return briefing_from(source)


def _owner_head(papers: RotaPapers, language: str) -> PaperHead:
    with speaking(language):
        return replace(papers.heads(language), title=_("Owner's sheet"))


def _titled(papers: RotaPapers, title: str) -> PaperHead:
    return replace(papers.heads(ENGLISH), title=title)


def papers_made(rota: Rota, made: RotaPages, heads: Heads, *, drawings: bool) -> RotaPapers:
    """The values of all papers, worked out from a rota's rows."""
    values = made.values
    pages = {str(place.uuid): made.page(place) for place in values.place_rows}
    people = {}
    for place in values.place_rows:
        key = str(place.uuid)
        hides = {session.turn.hide_key for session in pages[key].sessions if session.turn}
        people[key] = person_facts(values, place, hides, trip_needs(values, place, hides))
    sheets = DayPapers(rota, made, pages)
    head = heads(ENGLISH)
    return RotaPapers(
        heads=heads,
        trip=trip_facts(values),
        pages=pages,
        people=people,
        days=sheets.day_sheets(head),
        owners=sheets.owner_sheets(head),
        drawings=made.drawings() if drawings else {},
        meals=meals_by_day(rota.trip),
        phones=person_phones(rota.trip),
    )


def _papers_kept(rota: Rota, issue: Issue, now: datetime) -> RotaPapers:
    kept = issue.papers
    trip = from_json(TripFacts, kept["trip"])
    return RotaPapers(
        heads=_heads(rota, issue, now, trip.time_zone),
        trip=trip,
        pages={key: page_of(page) for key, page in issue.pages[PEOPLE].items() if key in kept["people"]},
        people=_people_kept(rota, kept["people"]),
        days=tuple(from_json(DaySheet, one) for one in kept["days"]),
        owners={key: tuple(from_json(OwnerSheet, one) for one in own) for key, own in kept["owners"].items()},
        drawings=kept.get(DRAWINGS, {}),
        meals=meals_by_day(rota.trip),
        phones=person_phones(rota.trip),
    )


def _people_kept(rota: Rota, kept: dict[str, Any]) -> dict[str, PersonFacts]:
    """What the issue kept of people, with their names, languages and emergency contacts as they are today."""
    rows = {str(place.uuid): place.participant for place in rota.trip.places.select_related("participant")}
    found = {}
    for key, one in kept.items():
        facts = from_json(PersonFacts, one)
        if key in rows:
            contact, language = rows[key].emergency_contact, language_of(rows[key])
            facts = replace(facts, name=rows[key].name, language=language, emergency_contact=contact)
        found[key] = facts
    return found


def _heads(rota: Rota | None, issue: Issue | None, now: datetime, time_zone: str, trip: Trip | None = None) -> Heads:
    """Heads of a rota's papers, or of those that a trip has without one; each language is asked for once."""
    of = rota.trip if rota is not None else trip
    assert of is not None
    told_at = issue.issued_at if issue is not None else None

    @cache
    def head(language: str) -> PaperHead:
        with speaking(language):
            return PaperHead(
                trip=of.name,
                title="",
                rota="" if rota is None else rota_words(rota.number, rota.state, told_at, time_zone),
                made=stamp_text(now.astimezone(ZoneInfo(time_zone)), time_zone),
                time_zone=time_zone,
                draft=rota is not None and issue is None,
                language=language,
                leaders=leader_phones(of),
            )

    return head
