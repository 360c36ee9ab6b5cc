"""Steps of a trip: what comes after what, how far it is, and what each step still lacks."""

from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import DateTimeField, Exists, F, OuterRef, Q, Value
from django.db.models.functions import Coalesce

from trips.documents.wording.gaps import Gap
from trips.documents.wording.rota_names import listed
from trips.models import ON_TRIP, Notice, PackState, PaperPack, Rota, RotaState, Trip
from trips.selectors.rota import changed_since_issue

# title, where it is done, what the link says, the gaps that are mended there
STEPS = (
    ("Site and hides", "trips:trip-hides", "Go to the hides", ("site", "hide")),
    ("Sessions", "trips:session-list", "Go to the sessions", ("session",)),
    ("People and gear", "trips:person-list", "Go to the people", ("person", "leader")),
    ("Rules", "trips:rules-edit", "Look at the rules", ()),
    ("Cars", "trips:cars-edit", "Go to the cars", ("car",)),
)
WRONG, NEEDED, ASSUMED, DONE, NEXT, LATER = "wrong", "needed", "assumed", "done", "next", "later"


@dataclass(frozen=True)
class Step:
    """One step. `state`: wrong (it contradicts something), needed (it stops a rota), assumed (defaults stand in), done,
    next or later.

    `is_now`: the one to go on with; there is at most one.
    """

    title: str
    url_name: str
    link: str
    state: str
    gaps: tuple[Gap, ...] = ()
    words: str = ""
    is_now: bool = False


def trip_path(trip: Trip, gaps: list[Gap], now: datetime) -> list[Step]:
    """The steps in order; one query, more where a rota is issued."""
    found = []
    for title, url_name, link, places in STEPS:
        own = tuple(gap for gap in gaps if gap.mended_at in places)
        stops, wrong = any(gap.stops_a_rota for gap in own), any(gap.is_wrong for gap in own)
        state = WRONG if wrong else NEEDED if stops else ASSUMED if own else DONE
        found.append(Step(title, url_name, link, state, own))
    rotas = list(trip.rotas.exclude(state=RotaState.RETIRED).order_by("-number"))
    steps = [*found, *_rota_steps(rotas, now, can_plan=all(step.state != NEEDED for step in found))]
    first = next((number for number, step in enumerate(steps) if step.state in (WRONG, NEEDED, NEXT)), -1)
    return [replace(step, is_now=number == first) for number, step in enumerate(steps)]


def _rota_steps(rotas: list[Rota], now: datetime, *, can_plan: bool) -> list[Step]:
    drafts = [rota for rota in rotas if rota.state == RotaState.DRAFT]
    issued = next((rota for rota in rotas if rota.state == RotaState.ISSUED), None)
    made = Step("Rota", "trips:rota-show", "Look at the rota", DONE)
    if not rotas:
        state = NEXT if can_plan else LATER
        made = Step(
            "Rota", "trips:rota-make", "Make a rota", state, (), "The planner makes a draft; nobody is told yet."
        )
    words = f"Rota {issued.number} is issued: everybody sees it." if issued else "Revealed to everybody at one moment."
    stale = issued is not None and any(changed_since_issue(issued))
    words += (
        " What it rests on changed since: issue it again, so that people have the times as they are." if stale else ""
    )
    if issued and drafts and drafts[0].number > issued.number:
        words += f" Rota {drafts[0].number} is a newer draft."
    if issued and (without := unseated(issued, now)):
        have = f"{listed(without)} {'has' if len(without) == 1 else 'have'}"
        words += f" {have} neither turn nor rest in it: a repair seats them."
    state = DONE if issued and not stale else NEXT if issued or drafts else LATER
    revealed = Step("Issue it", "trips:rota-show", "Look at the rota", state, (), words)
    if issued and (gone := seated_gone(issued, now)):
        have = f"{listed(gone)} {'is' if len(gone) == 1 else 'are'} no longer on the trip"
        words = f"{have}, but rota {issued.number} still seats them. Repair it, and issue the repair."
        revealed = Step("Issue it", "trips:rota-make", "Repair the rota", WRONG, (), words)
    return [made, revealed, _told_step(issued), _papers_step(issued, stale=stale)]


def seated_gone(rota: Rota, now: datetime) -> list[str]:
    """Names of those who have turns ahead in an issued rota and are no longer on the trip."""
    ahead = rota.turns.filter(session__ends_at__gt=now, place__isnull=False).exclude(place__state__in=ON_TRIP)
    return sorted(set(ahead.values_list("place__participant__name", flat=True)))


def unseated(rota: Rota, now: datetime) -> list[str]:
    """Names of those who photograph and are there in sessions ahead, in which an issued rota says nothing of them."""
    found = rota.trip.places.filter(state__in=ON_TRIP, photographs=True)
    for rows in (rota.turns.filter(place__isnull=False), rota.rests.all()):
        found = found.exclude(pk__in=rows.filter(session__ends_at__gt=now).values_list("place", flat=True))
    starts = Coalesce(OuterRef("arrives_at"), Value(now), output_field=DateTimeField())
    ahead = rota.trip.sessions.filter(ends_at__gt=now).filter(ends_at__gt=starts)
    leaves = Q(starts_at__lt=OuterRef("leaves_at"))
    there = Exists(ahead.filter(leaves)) | (Q(leaves_at=None) & Exists(ahead))
    return sorted(found.filter(there).values_list("participant__name", flat=True))


def _told_step(issued: Rota | None) -> Step:
    """Whether everybody whom an issue, the one in force or one before it, changed something for is known to know."""
    title, url_name, link = "Everybody knows", "trips:told-list", "See who was told"
    if issued is None:
        return Step(title, url_name, link, LATER, (), "Whom an issue changes something for is told, and ticked.")
    told = Notice.objects.filter(issue__rota__trip=issued.trip_id, place__participant__erased_at__isnull=True)
    unsure = told.filter(session=None).filter(confirmed_at__isnull=True).values("place", "leader").distinct().count()
    words = f"{unsure} {'has' if unsure == 1 else 'have'} not confirmed." if unsure else "All have confirmed."
    return Step(title, url_name, link, NEXT if unsure else DONE, (), words)


def _papers_step(issued: Rota | None, *, stale: bool) -> Step:
    """Whether the papers of the rota in force were printed and still say what is true."""
    title, url_name, link = "Papers", "trips:papers", "Go to the papers"
    if issued is None:
        return Step(title, url_name, link, LATER, (), "Briefings, day sheets, the owner's sheet and door cards.")
    if stale:
        return Step(title, url_name, link, LATER, (), f"The papers of rota {issued.number} have times from before.")
    packs = PaperPack.objects.filter(rota=issued, state=PackState.FINISHED)
    printed = packs.filter(asked_at__gte=F("rota__issue__issued_at")).exists()  # earlier ones say DRAFT
    words = f"The papers of rota {issued.number} are printed." if printed else f"Print those of rota {issued.number}."
    return Step(title, url_name, link, DONE if printed else NEXT, (), words)
