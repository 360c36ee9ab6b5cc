"""A person's days in plain words and in their units: what the page, the mail and the paper say alike."""

from collections.abc import Mapping

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.language import list_text, ngettext
from participants.wording import water_text
from trips.core.light import Interval
from trips.core.reach import Reach
from trips.documents.days import CallPage, DrivePage, HeatPage, LightCaution, SessionPage, TurnPage, ViewPage
from trips.documents.quantities import (
    clock_range_text,
    clock_text,
    distance_range,
    short_day_text,
    temperature_text,
    walk_text,
)
from trips.documents.wording.reach import reach_sentence, reach_words, verdict_level

LIGHT = {
    "front": noted("front light"),
    "side": noted("side light"),
    "back": noted("back light"),
    "top": noted("sun high overhead"),
    "soft": noted("soft light, no direction"),
    "shade": noted("the perch in shade"),
    "none": noted("no sun on the perch"),
}
SKIES = {"clear": noted("clear sky"), "partly": noted("partly cloudy"), "overcast": noted("overcast")}
ENTRANCES = {
    "walk": "",
    "stoop": noted("stoop to get in"),
    "ladder": noted("a ladder leads in"),
    "crawl": noted("crawl to get in"),
}
DOORS = {
    "free": "",
    "session": noted("The door stays shut for the whole session."),
    "all_day": noted("The door stays shut all day: take food, water and what you need."),
}
LOANS = {
    "borrowed": noted("{name} lends you {piece}."),
    "lent": noted("You lend {piece} to {name}."),
    "shared": noted("You share {piece} with {name}."),
}
KINDS = {"early": noted("early"), "midday": noted("midday"), "late": noted("late"), "night": noted("night")}
TIERS = {
    "caution": noted("Heat index: caution."),
    "extreme_caution": noted("Heat index: extreme caution."),
    "danger": noted("Heat index: danger."),
    "extreme_danger": noted("Heat index: extreme danger."),
}
HEAT_ASSUMED = noted("Nobody measured how much hotter it is inside: assumed the same.")


def ready_day(session: SessionPage) -> str:
    """The day on which the person has to be ready: a car may leave before midnight."""
    leaves_at = session.turn.call.leaves_at if session.turn else None
    return short_day_text((leaves_at or session.starts_at).date())


def hours_words(session: SessionPage) -> str:
    """From when to when the session lasts."""
    return clock_range_text(session.starts_at, session.ends_at)


def rest_words(session: SessionPage) -> str:
    """Why the person rests; empty where they do not."""
    return "" if session.rest is None else session.rest or _("You rest in this session.")


def leave_words(call: CallPage) -> str:
    """When the car leaves."""
    return clock_text(call.leaves_at) if call.leaves_at else _("You are in the hide already.")


def in_place_words(session: SessionPage) -> str:
    """When the person is to be ready, and by how much a hide's own rule or hours put that after the session's start."""
    at = session.turn.call.in_place_at if session.turn else None
    late_min = round((at - session.starts_at).total_seconds() / 60.0) if at else 0
    if late_min <= 0:
        return clock_text(at)
    values = {"clock": clock_text(at), "minutes": late_min}
    return _("{clock}, {minutes} min after the start by this hide's own rule", **values)


def own_hours_words(turn: TurnPage) -> str:
    """The person's stretches of a shared seat, empty for a whole turn."""
    return ", ".join(clock_range_text(start, end) for start, end in turn.own_hours)


def doors_words(turn: TurnPage) -> str:
    """How long the doors stay shut, empty where they do not."""
    return _(DOORS[turn.doors])


def perch_words(view: ViewPage, units: str) -> str:
    """How far away the subjects stand."""
    return distance_range(view.near_m, view.far_m, units)


def gear_level(view: ViewPage) -> str:
    """How the verdict on the gear is marked: good, care, fault, or assumed without gear."""
    return verdict_level(view.reach.verdict) if view.reach and _is_judged(view.reach) else "assumed"


def gear_verdict(view: ViewPage) -> str:
    """The verdict on the gear in few words."""
    return reach_words(view.reach) if view.reach and _is_judged(view.reach) else _("no gear typed in")


def gear_sentence(view: ViewPage, units: str) -> str:
    """What the gear does in the view, with its numbers."""
    return reach_sentence(view.reach, view.said, units) if view.reach else ""


def _is_judged(reach: Reach) -> bool:
    return reach.best is not None or reach.verdict == "fault"


def light_words(parts: tuple[Interval, ...]) -> str:
    """The light of a view in order: "no sun on the perch until 07:18, then front light until 10:45"."""
    said = ""
    for part in parts:
        here = {"light": _(LIGHT[part.name]), "clock": clock_text(part.ends_at)}
        told = (
            _("{said}, then {light} until {clock}", said=said, **here) if said else _("{light} until {clock}", **here)
        )
        said = told
    return said


def notice_sentence(notice: LightCaution) -> str:
    """A caution about the light, with its times."""
    hours = clock_range_text(notice.starts_at, notice.ends_at)
    sentences = {
        "sun_in_frame": _("The sun stands inside your frame {hours}: never look at it through a lens.", hours=hours),
        "shadow_on_perch": _("The hide's own shadow lies on the perch {hours}.", hours=hours),
        "shadow_on_water": _("The hide's own shadow lies on the near water {hours}.", hours=hours),
        "behind_horizon": _("The sun is behind the horizon line {hours}.", hours=hours),
        "scent": _("The wind carries your scent to the animals: nothing perfumed, keep the shutters shut."),
    }
    if not (notice.clears and notice.kind.startswith("shadow")):
        return sentences[notice.kind]
    return " ".join([sentences[notice.kind], _("It clears at {clock}.", clock=clock_text(notice.ends_at))])


def pick_up_hours(call: CallPage) -> str:
    """The hours in which the person is fetched, empty for somebody who stays."""
    return clock_range_text(call.pick_up_from, call.pick_up_to) if call.pick_up_from and call.pick_up_to else ""


def pick_up_words(turn: TurnPage) -> str:
    """When the person is fetched."""
    if hours := pick_up_hours(turn.call):
        return _("{hours}, wait for the signal", hours=hours)
    if turn.stays:
        return _("You stay in the hide through the break.")
    return _("You stay in the hide for the next session.")


def loan_sentences(turn: TurnPage, names: Mapping[str, str]) -> tuple[str, ...]:
    """What the person has of somebody else then, or somebody of them; `names`: of the trip's people by place key."""
    return tuple(
        _(LOANS[one.kind], piece=isolated(one.piece), name=isolated(names.get(one.other, _("somebody"))))
        for one in turn.loans
    )


def drive_sentences(session: SessionPage) -> tuple[str, ...]:
    """What the person drives: "Drop people with grey van: leave 06:02; Alder 06:12, Cork Oak 06:27; back 06:59."."""
    return tuple(_drive_sentence(drive) for drive in session.drives)


def _drive_sentence(drive: DrivePage) -> str:
    leaves, car = clock_text(drive.leaves_at), isolated(drive.car) or _("the car")
    begins = _("leave {clock}", clock=leaves)
    if drive.starts_in:
        begins = _("leave {hide} {clock}", hide=isolated(drive.starts_in), clock=leaves)
    ends = _("back {clock}", clock=clock_text(drive.back_at))
    if drive.ends_in:
        ends = _("the car waits there")
    stops = [f"{isolated(hide)} {clock_text(at)}" for hide, at in drive.stops if hide != drive.starts_in]
    way = "; ".join(part for part in (begins, ", ".join(stops), ends) if part)
    if drive.fetch:
        return _("Fetch people with {car}: {way}.", car=car, way=way)
    return _("Drop people with {car}: {way}.", car=car, way=way)


def car_words(call: CallPage) -> str:
    """The car by name, plate and driver, as far as they are known."""
    if not call.leaves_at:
        return ""
    car = f"{isolated(call.car)} ({isolated(call.plate)})" if call.plate else isolated(call.car)
    if call.drives:
        return _("you drive {car}", car=car)
    if not call.car:
        return _("the car")
    return _("{car}, driver {driver}", car=car, driver=isolated(call.driver)) if call.driver else car


def unsettled_words(call: CallPage) -> str:
    """That a drive cannot be made as it is planned; empty where it can."""
    if not call.unsettled:
        return ""
    return _("Your leader has still to settle this drive: ask before you rely on its times.")


def company_words(turn: TurnPage, names: Mapping[str, str]) -> str:
    """With whom: "with Bruno and Rosa", or alone."""
    others = company_names(turn, names)
    return _("with {names}", names=others) if others else _("alone in the hide")


def company_names(turn: TurnPage, names: Mapping[str, str]) -> str:
    """The others by name, the leader last; empty for somebody who sits alone."""
    others = (*(names.get(key, _("somebody")) for key in turn.company), *turn.leaders)
    return list_text(map(isolated, others))


def way_words(turn: TurnPage, units: str) -> str:
    """The last part of the way: walk, steps, entrance."""
    walk = _("The car stops at the door")
    if turn.walk_m > 0:
        walk = _("{walk} on foot", walk=walk_text(turn.walk_m, units))
    minutes = _("about {minutes:.0f} min", minutes=turn.walk_min) if turn.walk_m > 0 and turn.walk_min else ""
    return ", ".join(part for part in (walk, minutes, steps_words(turn.steps), _(ENTRANCES[turn.entry])) if part)


def steps_words(steps: int) -> str:
    """How many steps lead to the hide; empty without any."""
    return ngettext("{number} step", "{number} steps", steps) if steps else ""


def water_words(heat: HeatPage, units: str) -> str:
    """Water to take, with its bottles."""
    return water_text(heat.water_l, units) if heat.bottles else ""


def heat_sentences(turn: TurnPage, units: str) -> tuple[str, ...]:
    """What the forecast means for the turn, and what to do where the car leaves into the heat."""
    heat, leaves_at = turn.heat, turn.call.leaves_at
    if heat is None or heat.worst_hide_c is None or heat.worst_air_c is None:
        return (_("No forecast yet: the water is for heat."),)
    air, hide = temperature_text(heat.worst_air_c, units), temperature_text(heat.worst_hide_c, units)
    alike = hide == air
    found = [
        _("Air up to {air} outside.", air=air)
        if alike
        else _("Air up to {air} outside, up to {hide} in the hide.", air=air, hide=hide)
    ]
    if heat.assumed and alike:
        found.append(_(HEAT_ASSUMED))
    if heat.tier in TIERS:
        found.append(_(TIERS[heat.tier]))
    if heat.above_limit and heat.starts_at and heat.ends_at:
        found.append(_("Cool enough {hours} only.", hours=clock_range_text(heat.starts_at, heat.ends_at)))
        if leaves_at and leaves_at < heat.starts_at:
            said = _(
                "Your car leaves earlier, at {clock}: ask your leader for a later one.", clock=clock_text(leaves_at)
            )
            found.append(said)
        else:
            found.append(_("Ask your leader beforehand to be fetched when it grows too hot."))
    elif heat.above_limit:
        found.append(_("No half hour of it stays below the limit: ask your leader."))
    return tuple(found)


def sky_words(session: SessionPage) -> str:
    """The sky that was entered for the session, empty where none was kept."""
    return _(SKIES.get(session.sky, ""))


def kind_words(session: SessionPage) -> str:
    """The time of day of a session: early, midday, late, night."""
    return _(KINDS.get(session.kind, session.kind))
