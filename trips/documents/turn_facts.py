"""The light, gear, settings, heat and water of one person's turn, from the cores into the values of a page."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import isinf

from participants.core.gear import Gear
from trips.core.advice import Situation, advise
from trips.core.heat import session_heat, water_for
from trips.core.light import Framing, SessionLight, ViewLight, session_light
from trips.core.reach import HideReach, ViewReach, hide_reach, pixels_needed, with_one_set
from trips.core.values import Hide, Rules, Session, Subject, View, Wishes
from trips.documents.days import DepthFact, FillFact, HeatPage, LightCaution, ViewPage


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
    wanted = next(iter(_by_worth(person, stand, reach.rows)), None) if reach else None
    gear = wanted.reach.best if wanted else None
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
    pages = [(number, _view_page(person, stand, reach.in_view(one.view.key), one)) for number, one in ordered]
    return tuple(replace(page, number=number) for number, page in pages)


def heat_page(stand: HideSession) -> HeatPage:
    """Heat of the session in that hide, and water for all its hours: a cooler stretch is advice and moves nobody."""
    heat = session_heat(stand.hide, stand.session, stand.rules.heat_limit_c)
    water_l, bottles = water_for(heat.moments, stand.session.starts_at, stand.session.ends_at)
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
        least_air_c=min((moment.air_c for moment in heat.moments), default=None),
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


def _by_worth(person: TurnPerson, stand: HideSession, rows: tuple[ViewReach, ...]) -> list[ViewReach]:
    """Rows by how much their subject matters now: votes times chance, the chance, then the better reach."""
    chances = {chance.subject: chance.at(stand.session.kind) for chance in stand.hide.chances}
    votes = dict(person.wishes.votes)

    def worth(row: ViewReach) -> tuple[float, float, int]:
        subject = row.subject or ""
        return votes.get(subject, 0) * chances.get(subject, 0.0), chances.get(subject, 0.0), -row.reach.rank

    return sorted(rows, key=worth, reverse=True)


def _view_page(person: TurnPerson, stand: HideSession, rows: tuple[ViewReach, ...], light: ViewLight) -> ViewPage:
    page = ViewPage(
        name=light.view.name,
        near_m=light.view.near_m,
        far_m=light.view.far_m,
        light=light.on_perch,
        notices=tuple(
            LightCaution(caution.kind, caution.starts_at, caution.ends_at, caution.clears)
            for caution in light.cautions
            if caution.kind != "class_changes"
        ),
        good_minutes=light.good_minutes,
        water="" if light.view.water_edge_m is None else "low" if light.hide.sunken else "below",
        bearing_deg=light.view.bearing_deg,
    )
    return _with_gear(page, person, stand, _by_worth(person, stand, rows), light) if rows else page


def _with_gear(
    page: ViewPage, person: TurnPerson, stand: HideSession, rows: list[ViewReach], light: ViewLight
) -> ViewPage:
    """The card: everything on it is of one set, that of the subject which matters most (the first row)."""
    row = rows[0]
    subject = next((one for one in stand.subjects if one.key == row.subject), None)
    page = replace(page, reach=replace(row.reach, focus_m=None))
    if subject is not None:
        page = replace(page, subject=subject.name, names=subject.names)
    if row.reach.best is None or row.reach.judged_at_m is None:
        return replace(page, assumed=row.reach.assumed)
    pixels = pixels_needed(person.wishes.output, stand.rules.reach)
    situation = Situation(stand.hide, light.view, subject, light.by_minute, pixels)
    card = advise(person.gear, row.reach, situation, stand.rules.advice)
    return replace(
        page,
        still=card.still,
        moving=card.moving,
        rows=card.rows,
        steps=card.steps,
        carry=card.carry,
        fills=_fills(person, stand, rows, light.view),
        depths=tuple(
            DepthFact(one.distance_m, one.near_m, None if isinf(one.far_m) else one.far_m, one.f_number)
            for one in card.depths
        ),
        circle_mm=card.circle_mm,
        assumed=card.assumed,
    )


def _fills(person: TurnPerson, stand: HideSession, rows: list[ViewReach], view: View) -> tuple[FillFact, ...]:
    """How large each subject gets with the card's set, and another set of the person's where that serves it better."""
    gear = rows[0].reach.best
    if gear is None:
        return ()
    subjects = {subject.key: subject for subject in stand.subjects}
    asked = (person.wishes.output, stand.rules.reach)
    return tuple(
        FillFact(
            subject=subjects[one.subject].name,
            names=subjects[one.subject].names,
            length_min_cm=subjects[one.subject].length_min_cm,
            length_max_cm=subjects[one.subject].length_max_cm,
            fill=one.reach.fill,
            verdict=one.reach.verdict,
            other=one.other.best if one.other else None,
            other_fill=one.other.fill if one.other else None,
        )
        for one in with_one_set(gear, view, tuple(rows), stand.subjects, asked)
        if one.subject
    )


def with_hours(session: Session, starts_at: datetime | None, ends_at: datetime | None) -> Session:
    """The session with a hide's own hours, in the session's zone."""
    zone = session.starts_at.tzinfo
    return replace(
        session,
        starts_at=(starts_at or session.starts_at).astimezone(zone),
        ends_at=(ends_at or session.ends_at).astimezone(zone),
    )
