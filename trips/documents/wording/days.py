"""A person's days in plain words and in their units: what the page, the mail and the paper say alike."""

from collections.abc import Mapping

from participants.core.isolation import isolated
from participants.wording import water_text
from trips.core.light import Interval
from trips.core.reach import Reach
from trips.documents.days import CallPage, HeatPage, LightCaution, SessionPage, TurnPage, ViewPage
from trips.documents.quantities import (
    clock_range_text,
    clock_text,
    distance_range,
    short_day_text,
    temperature_text,
    walk_text,
)
from trips.documents.wording.reach import reach_sentence, reach_words, verdict_level
from trips.documents.wording.rota_names import listed

LIGHT = {
    "front": "front light",
    "side": "side light",
    "back": "back light",
    "top": "sun high overhead",
    "soft": "soft light, no direction",
    "shade": "the perch in shade",
    "none": "no sun on the perch",
}
SKIES = {"clear": "clear sky", "partly": "partly cloudy", "overcast": "overcast"}
ENTRANCES = {"walk": "", "stoop": "stoop to get in", "ladder": "a ladder leads in", "crawl": "crawl to get in"}
DOORS = {
    "free": "",
    "session": "The door stays shut for the whole session.",
    "all_day": "The door stays shut all day: take food, water and what you need.",
}
TIERS = {
    "caution": "Heat index: caution.",
    "extreme_caution": "Heat index: take great care.",
    "danger": "Heat index: danger.",
    "extreme_danger": "Heat index: great danger.",
}


def ready_day(session: SessionPage) -> str:
    """The day on which the person has to be ready: a car may leave before midnight."""
    leaves_at = session.turn.call.leaves_at if session.turn else None
    return short_day_text((leaves_at or session.starts_at).date())


def hours_words(session: SessionPage) -> str:
    """From when to when the session lasts."""
    return clock_range_text(session.starts_at, session.ends_at)


def rest_words(session: SessionPage) -> str:
    """Why the person rests; empty where they do not."""
    return "" if session.rest is None else session.rest or "You rest in this session."


def leave_words(call: CallPage) -> str:
    """When the car leaves."""
    return clock_text(call.leaves_at) if call.leaves_at else "You are in the hide already."


def in_place_words(session: SessionPage) -> str:
    """When the person is to be ready, and by how much a hide's own rule or hours put that after the session's start."""
    at = session.turn.call.in_place_at if session.turn else None
    late_min = round((at - session.starts_at).total_seconds() / 60.0) if at else 0
    return clock_text(at) + (f", {late_min} min after the start by this hide's own rule" if late_min > 0 else "")


def own_hours_words(turn: TurnPage) -> str:
    """The person's stretches of a shared seat, empty for a whole turn."""
    return ", ".join(clock_range_text(start, end) for start, end in turn.own_hours)


def doors_words(turn: TurnPage) -> str:
    """How long the doors stay shut, empty where they do not."""
    return DOORS[turn.doors]


def perch_words(view: ViewPage, units: str) -> str:
    """How far away the subjects stand."""
    return distance_range(view.near_m, view.far_m, units)


def gear_level(view: ViewPage) -> str:
    """How the verdict on the gear is marked: good, care, fault, or assumed without gear."""
    return verdict_level(view.reach.verdict) if view.reach and _is_judged(view.reach) else "assumed"


def gear_verdict(view: ViewPage) -> str:
    """The verdict on the gear in few words."""
    return reach_words(view.reach) if view.reach and _is_judged(view.reach) else "no gear typed in"


def gear_sentence(view: ViewPage, units: str) -> str:
    """What the gear does in the view, with its numbers."""
    return reach_sentence(view.reach, view.subject, units) if view.reach else ""


def _is_judged(reach: Reach) -> bool:
    return reach.best is not None or reach.verdict == "fault"


def light_words(parts: tuple[Interval, ...]) -> str:
    """The light of a view in order: "no sun on the perch until 07:18, then front light until 10:45"."""
    said = [f"{LIGHT[part.name]} until {clock_text(part.ends_at)}" for part in parts]
    return ", then ".join(said)


def notice_sentence(notice: LightCaution) -> str:
    """A caution about the light, with its times."""
    hours = clock_range_text(notice.starts_at, notice.ends_at)
    sentences = {
        "sun_in_frame": f"The sun stands inside your frame {hours}: never look at it through a lens.",
        "shadow_on_perch": f"The hide's own shadow lies on the perch {hours}.",
        "shadow_on_water": f"The hide's own shadow lies on the near water {hours}.",
        "behind_horizon": f"The sun is behind the horizon line {hours}.",
        "scent": "The wind carries your scent to the animals: nothing perfumed, keep the shutters shut.",
    }
    clears = (
        f" It clears at {clock_text(notice.ends_at)}." if notice.clears and notice.kind.startswith("shadow") else ""
    )
    return sentences[notice.kind] + clears


def pick_up_hours(call: CallPage) -> str:
    """The hours in which the person is fetched, empty for somebody who stays."""
    return clock_range_text(call.pick_up_from, call.pick_up_to) if call.pick_up_from and call.pick_up_to else ""


def pick_up_words(turn: TurnPage) -> str:
    """When the person is fetched."""
    if hours := pick_up_hours(turn.call):
        return f"{hours}, wait for the signal"
    return "You stay in the hide through the break." if turn.stays else "You stay in the hide for the next session."


def car_words(call: CallPage) -> str:
    """The car by name, plate and driver, as far as they are known."""
    if not call.leaves_at:
        return ""
    plate = f" ({isolated(call.plate)})" if call.plate else ""
    driver = f", driver {isolated(call.driver)}" if call.driver else ""
    if call.drives:
        return f"you drive {isolated(call.car)}{plate}"
    return f"{isolated(call.car)}{plate}{driver}" if call.car else "the car"


def company_words(turn: TurnPage, names: Mapping[str, str]) -> str:
    """With whom: "with Bruno and Rosa", or alone."""
    others = company_names(turn, names)
    return f"with {others}" if others else "alone in the hide"


def company_names(turn: TurnPage, names: Mapping[str, str]) -> str:
    """The others by name, the leader last; empty for somebody who sits alone."""
    others = (*(names.get(key, "somebody") for key in turn.company), *turn.leaders)
    return listed(map(isolated, others))


def way_words(turn: TurnPage, units: str) -> str:
    """The last part of the way: walk, steps, entrance."""
    walk = "The car stops at the door"
    if turn.walk_m > 0:
        walk = f"{walk_text(turn.walk_m, units)} on foot" + (
            f", about {turn.walk_min:.0f} min" if turn.walk_min else ""
        )
    steps = f"{turn.steps} step{'' if turn.steps == 1 else 's'}" if turn.steps else ""
    return ", ".join(part for part in (walk, steps, ENTRANCES[turn.entry]) if part)


def water_words(heat: HeatPage, units: str) -> str:
    """Water to take, with its bottles."""
    return water_text(heat.water_l, units) if heat.bottles else ""


def heat_sentences(turn: TurnPage, units: str) -> tuple[str, ...]:
    """What the forecast means for the turn, and what to do where the car leaves into the heat."""
    heat, leaves_at = turn.heat, turn.call.leaves_at
    if heat is None or heat.worst_hide_c is None or heat.worst_air_c is None:
        return ("The forecast is to follow.",)
    air, hide = temperature_text(heat.worst_air_c, units), temperature_text(heat.worst_hide_c, units)
    found = [f"Air up to {air} outside" + (f", up to {hide} in the hide." if hide != air else ".")]
    if heat.assumed and hide == air:
        found.append("Nobody measured how much hotter it is inside: assumed the same.")
    if heat.tier in TIERS:
        found.append(TIERS[heat.tier])
    if heat.above_limit and heat.starts_at and heat.ends_at:
        found.append(f"Cool enough {clock_range_text(heat.starts_at, heat.ends_at)} only.")
        if leaves_at and leaves_at < heat.starts_at:
            found.append(f"Your car leaves at {clock_text(leaves_at)}: before that, ask your leader for a later one.")
        else:
            found.append("Ask your leader beforehand to be fetched when it grows too hot.")
    elif heat.above_limit:
        found.append("No half hour of it stays below the limit: ask your leader.")
    return tuple(found)


def sky_words(session: SessionPage) -> str:
    """The sky that was entered for the session, empty where none was kept."""
    return SKIES.get(session.sky, "")
