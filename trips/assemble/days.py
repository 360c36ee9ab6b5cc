"""A rota's rows into what each person is told of their days."""

from collections import Counter
from collections.abc import Iterable
from datetime import timedelta
from functools import cached_property
from typing import Any

from participants.core.kit import Kit
from trips.assemble.calls import HideCall, session_calls, trip_cars
from trips.assemble.from_row import from_row
from trips.assemble.people import place_key
from trips.assemble.places import sun_day
from trips.assemble.presence_and_states import is_present
from trips.assemble.trip import TripValues, trip_values
from trips.core.light import SessionLight, session_light, trip_light
from trips.core.reach import HideReach
from trips.core.values import Session
from trips.documents.days import CallPage, DayPage, DaysPage, SessionPage, SitePage, TurnPage
from trips.documents.drawings import SeatOptions, seat_drawing
from trips.documents.turn_facts import (
    HideSession,
    TurnPerson,
    heat_page,
    own_stretches,
    person_reach,
    turn_light,
    view_pages,
    with_hours,
)
from trips.models import Place, Rota, Site, Turn


class RotaPages:
    """Reads a rota once and makes the page of any of its people. `values` may be handed in when they are at hand."""

    def __init__(self, rota: Rota, values: TripValues | None = None) -> None:
        self.rota = rota
        self.values = values or trip_values(rota.trip)
        rows = rota.turns.select_related("session", "place__participant", "leader", "hide", "seat")
        self._turns: tuple[Turn, ...] = tuple(rows)
        self._by_place = {(turn.place_id, turn.session_id): turn for turn in self._turns if turn.place_id}
        self._rests = {(rest.place_id, rest.session_id): rest.reason for rest in rota.rests.all()}
        self._cars = trip_cars(self.values)
        self._reach: dict[tuple[str, str, Kit], HideReach] = {}
        self._sessions = {
            row.pk: value for row, value in zip(self.values.session_rows, self.values.sessions, strict=True)
        }

    def page(self, place: Place) -> DaysPage:
        """The days of one person; `place` is one of the trip."""
        zone = self.values.session_rows[0].site.time_zone if self.values.session_rows else ""
        sites = self._sites
        return DaysPage(
            trip=self.values.trip.name,
            rota_number=self.rota.number,
            time_zone=zone or (sites[0].time_zone if sites else "UTC"),
            guest=not place.photographs,
            sites=tuple(from_row(SitePage, site) for site in sites),
            days=self._days,
            sessions=tuple(self._session_page(place, row.pk) for row in self.values.session_rows),
        )

    def drawings(self) -> dict[str, str]:
        """The seat's drawing of every window somebody sits at, as SVG, by "session/hide/window number"."""
        used = {(self._sessions[turn.session_id].key, str(turn.hide.uuid)): turn for turn in self._turns}
        found: dict[str, str] = {}
        for (session_key, hide_key), turn in sorted(used.items(), key=lambda item: item[0]):
            hide = self.values.hide(hide_key)
            if not hide.views:
                continue
            light = session_light(hide, self._hours(turn), "front", self.values.rules.light)
            for number, view in enumerate(light.views):
                options = SeatOptions(key=f"seat-{len(found)}")
                found[f"{session_key}/{hide_key}/{number}"] = seat_drawing(view, options)
        return found

    @cached_property
    def _lights(self) -> dict[tuple[str, str], SessionLight]:
        """The light of every hide in every session, whoever looks: for pick-up windows."""
        return trip_light(self.values.hides, self.values.sessions, "front", self.values.rules.light)

    @cached_property
    def calls(self) -> dict[tuple[int, str], HideCall]:
        """Call times by session row id and hide key."""
        found: dict[tuple[int, str], HideCall] = {}
        for row in self.values.session_rows:
            riding = (turn for turn in self._turns if turn.session_id == row.pk and not self._is_there_already(turn))
            occupied = Counter(str(turn.hide.uuid) for turn in riding)
            calls = session_calls(self.values, self._cars, str(row.uuid), occupied, self._lights)
            found |= {(row.pk, key): call for key, call in calls.items()}
        return found

    @cached_property
    def _sites(self) -> tuple[Site, ...]:
        """The trip's sites, asked for once for all people."""
        return tuple(self.values.trip.sites.all())

    @cached_property
    def _days(self) -> tuple[DayPage, ...]:
        sites, trip = self._sites, self.values.trip
        days = [trip.starts_on + timedelta(days=n) for n in range((trip.ends_on - trip.starts_on).days + 1)]
        return tuple(sun_day(sites[0], day) for day in days) if sites else ()

    def _session_page(self, place: Place, session_id: int) -> SessionPage:
        row = next(row for row in self.values.session_rows if row.pk == session_id)
        session = self._sessions[session_id]
        turn = self._by_place.get((place.pk, session_id))
        return SessionPage(
            key=session.key,
            name=session.name,
            kind=session.kind,
            starts_at=session.starts_at,
            ends_at=session.ends_at,
            time_zone=row.site.time_zone,
            turn=self._turn_page(place, turn) if turn else None,
            rest=self._rests.get((place.pk, session_id)),
            absent=turn is None and not is_present(place, row),
            sky=session.sky,
        )

    def _turn_page(self, place: Place, turn: Turn) -> TurnPage:
        key = str(turn.hide.uuid)
        stand = HideSession(self.values.hide(key), self._hours(turn), self.values.subjects, self.values.rules)
        kit = self.values.kit_then(place_key(place), stand.session.key)
        person = TurnPerson(kit, self.values.wishes[place_key(place)])
        reach = self._reach_of(place_key(place), person, stand)
        light = turn_light(person, stand, reach) if person.wishes.photographs else None
        return from_row(
            TurnPage,
            turn.hide,
            hide_key=key,
            hide=turn.hide.name,
            seat=turn.seat.name,
            call=self._call_page(turn),
            company=self._company(turn),
            leaders=self._leaders(turn),
            own_hours=self._own_hours(turn, stand.session),
            stays=turn.stays,
            views=view_pages(person, stand, reach, light),
            heat=heat_page(stand),
        )

    def _hours(self, turn: Turn) -> Session:
        session = self._sessions[turn.session_id]
        row = next(row for row in self.values.session_rows if row.pk == turn.session_id)
        own = next((state for state in row.session_hides.all() if state.hide_id == turn.hide_id), None)
        return with_hours(session, own.starts_at if own else None, own.ends_at if own else None)

    def _reach_of(self, key: str, person: TurnPerson, stand: HideSession) -> HideReach:
        asked = (key, stand.hide.key, person.kit)
        if asked not in self._reach:
            self._reach[asked] = person_reach(person, stand.hide, stand.subjects, stand.rules)
        return self._reach[asked]

    def _company(self, turn: Turn) -> tuple[str, ...]:
        """The keys of the others who sit in that hide then, by name; names themselves are not kept with an issue."""
        others = [one.place for one in self._there(turn) if one.pk != turn.pk and one.place]
        return tuple(place_key(place) for place in sorted(others, key=lambda place: place.participant.name))

    def _leaders(self, turn: Turn) -> tuple[str, ...]:
        leaders = [one.leader for one in self._there(turn) if one.leader]
        return tuple(sorted(leader.get_full_name() or leader.get_username() for leader in leaders))

    def _there(self, turn: Turn) -> Iterable[Turn]:
        return (one for one in self._turns if (one.session_id, one.hide_id) == (turn.session_id, turn.hide_id))

    def _own_hours(self, turn: Turn, session: Session) -> tuple[tuple[Any, Any], ...]:
        if not turn.part:
            return ()
        parts = sum(1 for one in self._there(turn) if one.seat_id == turn.seat_id)
        return own_stretches(
            session.starts_at,
            session.ends_at,
            part=turn.part,
            parts=max(parts, turn.part),
            hand_over_min=self.values.rules.hand_over_min,
        )

    def _call_page(self, turn: Turn) -> CallPage:
        """The way there unless the person is there already, the way back unless they stay."""
        call = self.calls.get((turn.session_id, str(turn.hide.uuid)))
        if self._is_there_already(turn) or call is None:
            way = CallPage(in_place_at=self._hours(turn).starts_at)
        else:
            way = CallPage(call.car, call.plate, call.driver, call.leaves_at, call.in_place_at)
        if turn.stays or self._goes_on(turn):
            return way
        return CallPage(way.car, way.plate, way.driver, way.leaves_at, way.in_place_at, *self._pick_up(turn, call))

    def _pick_up(self, turn: Turn, call: HideCall | None) -> tuple[Any, Any]:
        if call is None:
            key = str(turn.hide.uuid)
            session_key = self._sessions[turn.session_id].key
            call = session_calls(self.values, self._cars, session_key, {key: 1}, self._lights)[key]
        return call.pick_up.opens_at, call.pick_up.closes_at

    def _is_there_already(self, turn: Turn) -> bool:
        """Whether the person stayed in this hide from the session before."""
        before = self._neighbour(turn, -1)
        return before is not None and before.hide_id == turn.hide_id and (before.stays or self._goes_on(before))

    def _goes_on(self, turn: Turn) -> bool:
        """Whether the doors of an all-day hide keep the person in for the next session of that day."""
        after = self._neighbour(turn, 1)
        same_hide = turn.hide.doors == "all_day" and after is not None and after.hide_id == turn.hide_id
        return same_hide and self._day(turn) == self._day(after)

    def _day(self, turn: Turn | None) -> Any:
        return self._sessions[turn.session_id].starts_at.date() if turn else None

    def _neighbour(self, turn: Turn, step: int) -> Turn | None:
        """The same person's turn in the session before (-1) or after (1), if they have one there."""
        order = [row.pk for row in self.values.session_rows]
        at = order.index(turn.session_id) + step
        if not 0 <= at < len(order):
            return None
        if turn.place_id:
            return self._by_place.get((turn.place_id, order[at]))
        return next(
            (one for one in self._turns if one.leader_id == turn.leader_id and one.session_id == order[at]), None
        )
