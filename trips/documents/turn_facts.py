"""The light, gear, settings, heat and water of one person's turn, from the cores into the values of a page."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from participants.core.gear import Gear
from trips.core.advice import Situation, advise
from trips.core.heat import session_heat, water_for
from trips.core.light import Framing, SessionLight, ViewLight, session_light
from trips.core.reach import HideReach, ViewReach, hide_reach
from trips.core.values import Hide, Rules, Session, Subject, Wishes
from trips.documents.days import HeatPage, LightCaution, LightInterval, ViewPage

DARKEST_EV100 = -10.0


@dataclass(frozen=True, slots=True)
class TurnPerson:
    """What counts of a person for their turns: gear, wishes, and whether they bring a camera."""

    gear: Gear
    wishes: Wishes


@dataclass(frozen=True, slots=True)
class HideSession:
    """One hide in one session (with the hide's own hours, where it has any), for subjects of the trip."""

    hide: Hide
    session: Session
    subjects: tuple[Subject, ...]
    rules: Rules


def person_reach(person: TurnPerson, hide: Hide, subjects: tuple[Subject, ...], rules: Rules) -> HideReach:
    """What the person's gear does in a hide, over all its views and likely subjects."""
    return hide_reach(person.gear, hide, subjects, person.wishes, rules.reach)


def turn_light(person: TurnPerson, stand: HideSession, reach: HideReach | None) -> SessionLight | None:
    """The light of the turn by the person's wish, framed by the lens they will use; None for a hide without views."""
    if not stand.hide.views:
        return None
    settings = stand.rules.light
    framing = Framing(focal_mm=settings.frame_focal_mm)
    gear = reach.best.reach.best if reach and reach.rows else None
    if gear is not None:
        body = gear.body
        focal_mm = gear.focal_mm * gear.converter_factor
        framing = Framing(focal_mm, body.sensor_width_mm, body.sensor_height_mm)
    return session_light(stand.hide, stand.session, person.wishes.light, settings, framing)


def view_pages(
    person: TurnPerson, stand: HideSession, reach: HideReach, light: SessionLight | None
) -> tuple[ViewPage, ...]:
    """Every view of the hide, the one with the best light first; without a camera none."""
    if light is None or not person.wishes.photographs:
        return ()
    best = light.best_view.view.key
    ordered = sorted(enumerate(light.views), key=lambda one: one[1].view.key != best)
    pages = [
        (number, _view_page(person, stand, _wanted_row(person, stand, reach, one), one)) for number, one in ordered
    ]
    return tuple(replace(page, number=number) for number, page in pages)


def heat_page(stand: HideSession) -> HeatPage:
    """Heat of the session in that hide, and water for all its hours: a cooler stretch is advice and moves nobody."""
    heat = session_heat(stand.hide, stand.session, stand.rules.heat_limit_c)
    water_l, bottles = water_for(stand.session.starts_at, stand.session.ends_at)
    return HeatPage(
        water_l=water_l,
        bottles=bottles,
        tier=heat.tier,
        worst_air_c=max((moment.air_c for moment in heat.moments), default=None),
        worst_hide_c=heat.worst_hide_c,
        limit_c=heat.limit_c,
        above_limit=heat.above_limit,
        starts_at=heat.starts_at if heat.moved else None,
        ends_at=heat.ends_at if heat.moved else None,
        assumed=bool(heat.assumed),
    )


def own_stretches(
    starts_at: datetime, ends_at: datetime, *, part: int, parts: int, hand_over_min: float
) -> tuple[tuple[datetime, datetime], ...]:
    """When the person with that part (1 first) has a seat that `parts` people share, by turns of `hand_over_min`."""
    step = timedelta(minutes=hand_over_min)
    found = []
    start, turn = starts_at, 1
    while start < ends_at:
        end = min(start + step, ends_at)
        if turn == part:
            found.append((start, end))
        start, turn = end, turn % parts + 1
    return tuple(found)


def _wanted_row(person: TurnPerson, stand: HideSession, reach: HideReach, light: ViewLight) -> ViewReach | None:
    """The subject that matters most in this view now: votes times chance, then the better reach."""
    chances = {chance.subject: chance.at(stand.session.kind) for chance in stand.hide.chances}
    votes = dict(person.wishes.votes)

    def worth(row: ViewReach) -> tuple[float, float, int]:
        subject = row.subject or ""
        return votes.get(subject, 0) * chances.get(subject, 0.0), chances.get(subject, 0.0), -row.reach.rank

    return max(reach.in_view(light.view.key), key=worth, default=None)


def _view_page(person: TurnPerson, stand: HideSession, row: ViewReach | None, light: ViewLight) -> ViewPage:
    page = ViewPage(
        name=light.view.name,
        near_m=light.view.near_m,
        far_m=light.view.far_m,
        light=tuple(LightInterval(part.name, part.starts_at, part.ends_at) for part in light.intervals),
        notices=tuple(
            LightCaution(caution.kind, caution.starts_at, caution.ends_at, caution.clears)
            for caution in light.cautions
            if caution.kind != "class_changes"
        ),
        good_minutes=light.good_minutes,
    )
    return page if row is None else _with_gear(page, person, stand, row, light)


def _with_gear(page: ViewPage, person: TurnPerson, stand: HideSession, row: ViewReach, light: ViewLight) -> ViewPage:
    subject = next((one for one in stand.subjects if one.key == row.subject), None)
    page = replace(page, subject=subject.name if subject else "", reach=replace(row.reach, focus_m=None))
    if row.reach.best is None or row.reach.judged_at_m is None:
        return replace(page, assumed=row.reach.assumed)
    samples = light.samples
    evs = tuple(_quotable(samples[at].ev100) for at in (0, len(samples) // 2, -1))
    card = advise(
        person.gear, row.reach, Situation(stand.hide, light.view, subject, (evs[0], evs[1], evs[2])), stand.rules.advice
    )
    return replace(page, still=card.still, moving=card.moving, carry=card.carry, assumed=card.assumed)


def _quotable(ev100: float | None) -> float | None:
    """An expected EV no lower than starlight: deeper night than that is "too low" all the same."""
    return None if ev100 is None else max(ev100, DARKEST_EV100)


def with_hours(session: Session, starts_at: datetime | None, ends_at: datetime | None) -> Session:
    """The session with a hide's own hours, in the session's zone."""
    zone = session.starts_at.tzinfo
    return replace(
        session,
        starts_at=(starts_at or session.starts_at).astimezone(zone),
        ends_at=(ends_at or session.ends_at).astimezone(zone),
    )
