"""A person's days in plain words and in their units: what the page, the mail and the paper say alike."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from participants.core.isolation import isolated
from participants.core.units import feet_from_metres, quarts_from_litres
from trips.documents.days import CallPage, HeatPage, LightCaution, LightInterval, SessionPage, TurnPage, ViewPage
from trips.documents.quantities import (
    clock_range_text,
    clock_text,
    count_text,
    length_text,
    short_day_text,
    temperature_text,
)
from trips.documents.wording.advice import carry_sentences, iso_words, setting_words, why_sentence
from trips.documents.wording.reach import (
    assumed_sentences,
    reach_sentence,
    verdict_level,
    verdict_words,
    warning_sentence,
)

LIGHT = {
    "front": "front light",
    "side": "side light",
    "back": "back light",
    "top": "sun high overhead",
    "none": "no sun on the perch",
}
ENTRANCES = {"walk": "", "stoop": "stoop to get in", "ladder": "a ladder leads in", "crawl": "crawl to get in"}
DOORS = {
    "free": "",
    "session": "The door stays shut for the whole session.",
    "all_day": "The door stays shut all day: take food, water and what you need.",
}
TIERS = {
    "caution": "Heat: caution.",
    "extreme_caution": "Heat: take great care.",
    "danger": "Heat: danger.",
    "extreme_danger": "Heat: great danger.",
}


@dataclass(frozen=True, slots=True)
class SettingsWords:
    """One line of settings: for what, the settings, and the ISO over the session."""

    label: str
    settings: str
    iso: str


@dataclass(frozen=True, slots=True)
class ViewWords:
    """One view: its light in words, gear with the reason, settings, warnings."""

    name: str
    distance: str
    light: str
    notices: tuple[str, ...]
    reach: str
    level: str
    verdict: str
    carry: tuple[str, ...]
    settings: tuple[SettingsWords, ...]
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    assumed: tuple[str, ...]
    number: int = 0


@dataclass(frozen=True, slots=True)
class TurnWords:
    """One turn as it is read: when, where, with whom, how to get there, what the light does, what to take."""

    hide: str
    seat: str
    leave: str
    in_place: str
    pick_up: str
    car: str
    company: str
    way: str
    doors: str
    own_hours: str
    water: str
    heat: tuple[str, ...]
    views: tuple[ViewWords, ...]
    cautions: str


@dataclass(frozen=True, slots=True)
class SessionWords:
    """A session of the page: its day and hours, and a turn, a rest or an absence; `was`: a turn withdrawn."""

    key: str
    kind: str
    day: str
    hours: str
    starts_at: datetime
    ends_at: datetime
    time_zone: str
    turn: TurnWords | None = None
    rest: str = ""
    absent: bool = False
    was: str = ""


@dataclass(frozen=True, slots=True)
class Reader:
    """Who reads: units (metric or feet), names of the trip's people by place key, and whether without a camera."""

    units: str = "metric"
    names: Mapping[str, str] = field(default_factory=dict)
    guest: bool = False


def session_words(session: SessionPage, reader: Reader, was: TurnPage | None = None) -> SessionWords:
    """A session in words; `was`: the turn that an earlier issue had here and this one has not."""
    turn = session.turn
    rest = "" if session.rest is None else session.rest or "You rest in this session."
    return SessionWords(
        key=session.key,
        kind=session.kind,
        day=short_day_text(session.starts_at.date()),
        hours=clock_range_text(session.starts_at, session.ends_at),
        starts_at=session.starts_at,
        ends_at=session.ends_at,
        time_zone=session.time_zone,
        turn=turn_words(turn, session, reader) if turn else None,
        rest=rest,
        absent=session.absent,
        was=f"{isolated(was.hide)}, {isolated(was.seat)}" if was and not turn else "",
    )


def turn_words(turn: TurnPage, session: SessionPage, reader: Reader) -> TurnWords:
    """A turn in words; a guest reads nothing of light, gear and settings."""
    units = reader.units
    return TurnWords(
        hide=turn.hide,
        seat=turn.seat,
        leave=clock_text(turn.call.leaves_at) if turn.call.leaves_at else "You are in the hide already.",
        in_place=clock_text(turn.call.in_place_at) if turn.call.in_place_at else "",
        pick_up=pick_up_words(turn.call, stays=turn.stays),
        car=car_words(turn.call),
        company=company_words(turn, reader.names),
        way=way_words(turn, units),
        doors=DOORS[turn.doors],
        own_hours=", ".join(clock_range_text(start, end) for start, end in turn.own_hours),
        water=water_words(turn.heat, units) if turn.heat else "",
        heat=heat_sentences(turn.heat, units) if turn.heat else (),
        views=() if reader.guest else tuple(view_words(view, session, units) for view in turn.views),
        cautions=turn.cautions,
    )


def view_words(view: ViewPage, session: SessionPage, units: str) -> ViewWords:
    """One view in words."""
    reach = view.reach
    lines = [line for line in (view.still, view.moving) if line is not None]
    return ViewWords(
        name=view.name,
        distance=distance_range(view.near_m, view.far_m, units),
        light=light_words(view.light),
        notices=tuple(notice_sentence(notice) for notice in view.notices),
        reach=reach_sentence(reach, view.subject, units) if reach else "",
        level=verdict_level(reach.verdict) if reach and reach.best else "fault" if _is_fault(view) else "assumed",
        verdict=verdict_words(reach.verdict) if reach and (reach.best or _is_fault(view)) else "no gear typed in",
        carry=carry_sentences(view.carry, units) if view.carry else (),
        settings=tuple(
            SettingsWords(
                "still" if line.kind == "still" else "moving",
                setting_words(line.middle),
                iso_words(line),
            )
            for line in lines
        ),
        reasons=_reasons(view),
        warnings=tuple(warning_sentence(remark, units) for remark in (reach.warnings if reach else ())),
        assumed=assumed_sentences(view.assumed),
        number=view.number,
    )


def _reasons(view: ViewPage) -> tuple[str, ...]:
    """Why the settings are what they are: what holds for both lines once, then what is the one's or the other's."""
    if view.still is None or view.moving is None:
        return ()
    still, moving = ([why_sentence(why) for why in line.reasons] for line in (view.still, view.moving))
    both = [sentence for sentence in still if sentence in moving]
    own = [(name, one) for name, line in (("Still", still), ("Moving", moving)) for one in line if one not in both]
    return (*both, *(f"{name}: {one}" for name, one in own))


def _is_fault(view: ViewPage) -> bool:
    return view.reach is not None and view.reach.verdict == "fault"


def light_words(parts: tuple[LightInterval, ...]) -> str:
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


def pick_up_words(call: CallPage, *, stays: bool) -> str:
    """When the person is fetched."""
    if call.pick_up_from and call.pick_up_to:
        return f"{clock_range_text(call.pick_up_from, call.pick_up_to)}, wait for the signal"
    return "You stay in the hide through the break." if stays else "You stay in the hide for the next session."


def car_words(call: CallPage) -> str:
    """The car by name, plate and driver, as far as they are known."""
    if not call.leaves_at:
        return ""
    plate = f" ({isolated(call.plate)})" if call.plate else ""
    driver = f", driver {isolated(call.driver)}" if call.driver else ""
    return f"{isolated(call.car)}{plate}{driver}" if call.car else "the car at the lodge"


def company_words(turn: TurnPage, names: Mapping[str, str]) -> str:
    """With whom: "with Bruno and Rosa", or alone."""
    others = company_names(turn, names)
    return f"with {others}" if others else "alone in the hide"


def company_names(turn: TurnPage, names: Mapping[str, str]) -> str:
    """The others by name, the leader last; empty for somebody who sits alone."""
    others = (*(names.get(key, "somebody") for key in turn.company), *turn.leaders)
    return _listed(tuple(map(isolated, others))) if others else ""


def way_words(turn: TurnPage, units: str) -> str:
    """The last part of the way: walk, steps, entrance."""
    walk = "The car stops at the door"
    if turn.walk_m > 0:
        length = f"{feet_from_metres(turn.walk_m):.0f} ft" if units == "feet" else f"{turn.walk_m:.0f} m"
        walk = f"{length} on foot" + (f", about {turn.walk_min:.0f} min" if turn.walk_min else "")
    steps = f"{turn.steps} step{'' if turn.steps == 1 else 's'}" if turn.steps else ""
    return ", ".join(part for part in (walk, steps, ENTRANCES[turn.entry]) if part)


def water_words(heat: HeatPage, units: str) -> str:
    """Water to take: litres or US quarts, and bottles of a litre."""
    if heat.bottles == 0:
        return ""
    litres = f"{round(heat.water_l, 2):g} l"
    amount = f"{quarts_from_litres(heat.water_l):.1f} US quarts" if units == "feet" else litres
    return f"{amount} in {count_text(heat.bottles, 'bottle')} of one litre"


def heat_sentences(heat: HeatPage, units: str) -> tuple[str, ...]:
    """What the forecast means for the turn."""
    if heat.worst_hide_c is None or heat.worst_air_c is None:
        return ("The forecast is to follow.",)
    air, hide = temperature_text(heat.worst_air_c, units), temperature_text(heat.worst_hide_c, units)
    found = [f"Up to {air} outside" + (f", up to {hide} in the hide." if hide != air else ".")]
    if heat.assumed and hide == air:
        found.append("Nobody measured how much hotter it is inside: assumed the same.")
    if heat.tier in TIERS:
        found.append(TIERS[heat.tier])
    if heat.above_limit and heat.starts_at and heat.ends_at:
        found.append(f"Cool enough from {clock_range_text(heat.starts_at, heat.ends_at)} only.")
    elif heat.above_limit:
        found.append("No half hour of it stays below the limit: ask your leader.")
    return tuple(found)


def distance_range(near_m: float, far_m: float, units: str) -> str:
    """How far away the subjects stand."""
    near, far = length_text(near_m, units), length_text(far_m, units)
    return near if near == far else f"{near} to {far}"


def _listed(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
