"""Points of every person, session and hide of a trip, with what they are made of."""

from dataclasses import dataclass, field, replace

from participants.core.gear import Gear
from trips.assemble.trip import TripValues
from trips.core.access import access
from trips.core.light import moment_scores, trip_scores
from trips.core.reach import HideReach, hide_reach, reach
from trips.core.rota.problem.points import Numbers, Seen, TurnFactors, turn_factors, view_factor, wish_sum, wish_weight
from trips.core.values import Hide, LightSettings, Session, Wishes

NO_GEAR_NEEDED = 1.0  # a guest without a camera has no reach to fail


@dataclass(frozen=True)
class PointsTable:
    """`points[person][session][hide]`; the factors, reach and faults of reach by (person, session, hide).

    `good`: those with light long enough for a good turn and reach that is no fault.
    """

    points: tuple[tuple[tuple[float, ...], ...], ...]
    factors: dict[tuple[int, int, int], TurnFactors] = field(repr=False)
    reaches: dict[tuple[int, int, int], HideReach] = field(repr=False)
    faults: frozenset[tuple[int, int, int]] = frozenset()
    good: frozenset[tuple[int, int, int]] = frozenset()


def own_session(values: TripValues, session: int, hide: int) -> Session:
    """A session with the hide's own hours, where the owner gave it any."""
    row, hide_row = values.session_rows[session], values.hide_rows[hide]
    value = values.sessions[session]
    zone = value.starts_at.tzinfo
    for state in row.session_hides.all():
        if state.hide_id == hide_row.pk and (state.starts_at or state.ends_at):
            starts_at = state.starts_at.astimezone(zone) if state.starts_at else value.starts_at
            ends_at = state.ends_at.astimezone(zone) if state.ends_at else value.ends_at
            if ends_at > starts_at:
                return replace(value, starts_at=starts_at, ends_at=ends_at)
    return value


def light_table(values: TripValues) -> dict[tuple[int, int, str], Numbers]:
    """Light scores, views x samples, by (session, hide, wish) for the wishes that people have."""
    wishes = sorted({wish.light for wish in values.wishes.values()})
    plain = trip_scores(values.hides, values.sessions, wishes, values.rules.light)
    table: dict[tuple[int, int, str], Numbers] = {}
    for h, hide in enumerate(values.hides):
        for s, session in enumerate(values.sessions):
            own = own_session(values, s, h)
            for wish in wishes:
                table[s, h, wish] = (
                    plain[hide.key, session.key, wish]
                    if own is session
                    else moment_scores(hide, own, wish, values.rules.light)
                )
    return table


def points_table(values: TripValues) -> PointsTable:
    """Points of everybody everywhere. The light is computed once for all, reach once for gear and hide."""
    light = light_table(values)
    points: list[tuple[tuple[float, ...], ...]] = []
    factors: dict[tuple[int, int, int], TurnFactors] = {}
    reaches: dict[tuple[int, int, int], HideReach] = {}
    faults: set[tuple[int, int, int]] = set()
    good: set[tuple[int, int, int]] = set()
    for p, row in enumerate(values.place_rows):
        with_gear: dict[Gear, _Person] = {}
        rows = []
        for s, session in enumerate(values.sessions):
            gear = values.gear_then(str(row.uuid), session.key)
            person = with_gear[gear] = with_gear.get(gear) or _Person(values, p, gear)
            reaches |= {(p, s, h): found for h, found in enumerate(person.reaches)}
            faults |= {(p, s, h) for h, found in enumerate(person.reaches) if found.fault}
            for h, hide in enumerate(values.hides):
                seen = light[s, h, person.wishes.light]
                factors[p, s, h] = person.factors(seen, session, h, hide)
                if (p, s, h) not in faults and is_good_light(seen, values.rules.light):
                    good.add((p, s, h))
            rows.append(tuple(factors[p, s, h].points for h in range(len(values.hides))))
        points.append(tuple(rows))
    return PointsTable(tuple(points), factors, reaches, frozenset(faults), frozenset(good))


def is_good_light(light: Numbers, settings: LightSettings) -> bool:
    """Whether the light is good long enough for a good turn; at each moment the best view counts."""
    if light.size == 0:
        return False
    return bool((light.max(axis=0) >= settings.good_score - 1e-9).sum() * settings.step_min >= settings.good_minutes)


class _Person:
    """One person's wishes, limits and reach with what they have with them, looked up once."""

    def __init__(self, values: TripValues, number: int, gear: Gear) -> None:
        self.key = str(values.place_rows[number].uuid)
        self.values = values
        self.wishes: Wishes = values.wishes[self.key]
        self.votes = dict(self.wishes.votes)
        self.gear = gear
        settings = values.rules.reach
        self.reaches: list[HideReach] = []
        if self.wishes.photographs:
            self.reaches = [
                hide_reach(self.gear, hide, values.subjects, self.wishes, settings) for hide in values.hides
            ]
        self.alone = [
            [
                reach(self.gear, view, None, self.wishes.output, settings).factor
                if self.wishes.photographs
                else NO_GEAR_NEEDED
                for view in hide.views
            ]
            for hide in values.hides
        ]
        self.halved = [bool(access(values.limits[self.key], hide).rather_not) for hide in values.hides]
        self.best = max((self._sum(hide, session) for hide in values.hides for session in values.sessions), default=0.0)

    def _sum(self, hide: Hide, session: Session) -> float:
        return wish_sum(self.votes, {chance.subject: chance.at(session.kind) for chance in hide.chances})

    def factors(self, light: Numbers, session: Session, number: int, hide: Hide) -> TurnFactors:
        """The points of this person in one session and hide."""
        wish = wish_weight(self._sum(hide, session), self.best) if self.votes else 1.0
        return turn_factors(
            light,
            [self._view(session, number, hide, place) for place in range(len(hide.views))],
            wish,
            light_dial=self.values.rules.light_dial,
            halved=self.halved[number] or self._too_long(session),
        )

    def _view(self, session: Session, number: int, hide: Hide, place: int) -> float:
        """R of one view in a session of that kind."""
        if not self.reaches:
            return NO_GEAR_NEEDED
        chances = {chance.subject: chance.at(session.kind) for chance in hide.chances}
        rows = self.reaches[number].in_view(hide.views[place].key)
        seen = [
            Seen(row.subject, chances.get(row.subject, 0.0), row.reach.factor)
            for row in rows
            if row.subject is not None
        ]
        return view_factor(seen, self.votes, self.alone[number][place])

    def _too_long(self, session: Session) -> bool:
        """Whether the person would rather not sit as long as that."""
        length_h = (session.ends_at - session.starts_at).total_seconds() / 3600
        return any(
            limit.what == "hours" and not limit.firm and length_h > float(limit.value)
            for limit in self.values.limits[self.key]
        )
