"""The way through a trip: what comes after what, how far it is, and what each step still lacks."""

from dataclasses import dataclass

from trips.documents.wording.gaps import Gap
from trips.models import Rota, Trip

# title, where it is done, what the link says, the gaps that are mended there
STEPS = (
    ("Site and hides", "trips:trip-hides", "Go to the hides", ("site", "hide")),
    ("Sessions", "trips:session-list", "Go to the sessions", ("session",)),
    ("People and gear", "trips:person-list", "Go to the people", ("person",)),
    ("Rules", "trips:rules-edit", "Look at the rules", ()),
    ("Cars", "trips:cars-edit", "Go to the cars", ("car",)),
)
NEEDED, ASSUMED, DONE, NEXT, LATER = "needed", "assumed", "done", "next", "later"


@dataclass(frozen=True)
class Step:
    """One step. `state`: needed (it stops a rota), assumed (defaults stand in), done, next or later."""

    title: str
    url_name: str
    link: str
    state: str
    gaps: tuple[Gap, ...] = ()
    words: str = ""


def trip_path(trip: Trip, gaps: list[Gap]) -> list[Step]:
    """The steps in order; one query."""
    found = []
    for title, url_name, link, places in STEPS:
        own = tuple(gap for gap in gaps if gap.mended_at in places)
        stops = any(gap.stops_a_rota for gap in own)
        found.append(Step(title, url_name, link, NEEDED if stops else ASSUMED if own else DONE, own))
    rotas = list(trip.rotas.exclude(state="retired").order_by("-number"))
    return [*found, *_rota_steps(rotas, can_plan=all(step.state != NEEDED for step in found))]


def _rota_steps(rotas: list[Rota], *, can_plan: bool) -> list[Step]:
    drafts = [rota for rota in rotas if rota.state == "draft"]
    issued = next((rota for rota in rotas if rota.state == "issued"), None)
    made = Step("Rota", "trips:rota-show", "Look at the rota", DONE)
    if not rotas:
        state = NEXT if can_plan else LATER
        made = Step(
            "Rota", "trips:rota-make", "Make a rota", state, (), "The planner makes a draft; nobody is told yet."
        )
    words = f"Rota {issued.number} is issued: everybody sees it." if issued else "Revealed to everybody at one moment."
    if issued and drafts and drafts[0].number > issued.number:
        words += f" Rota {drafts[0].number} is a newer draft."
    state = DONE if issued else NEXT if drafts else LATER
    told = Step("Issue it", "trips:rota-show", "Look at the rota", state, (), words)
    return [made, told]
