"""A rota's rows into what each person is told of their days."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from itertools import product
from typing import Any

from participants.core.gear import Gear
from participants.speaking import ENGLISH, language_of, speaking
from trips.assemble.drive_rows import person_key, rows_of
from trips.assemble.drives import HideRide, TripDrives, ask_first
from trips.assemble.from_row import from_row
from trips.assemble.paper_facts import trip_zone
from trips.assemble.people import place_key
from trips.assemble.places import sun_day
from trips.assemble.presence_and_states import is_present
from trips.assemble.trip import TripValues, trip_values
from trips.core.drives.values import FETCH
from trips.core.light import SessionLight, session_light, trip_light
from trips.core.reach import HideReach
from trips.core.values import Session
from trips.documents.days import (
    CallPage,
    DayPage,
    DaysPage,
    DrivePage,
    LoanPage,
    SessionPage,
    SitePage,
    TurnPage,
    drawing_key,
)
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
from trips.models import Session as SessionRow


class RotaPages:
    """Reads a rota once and makes the page of any of its people. `values` may be handed in when they are at hand."""

    def __init__(self, rota: Rota, values: TripValues | None = None) -> None:
        self.rota = rota
        self.values = values or trip_values(rota.trip)
        rows = rota.turns.select_related("session", "place__participant", "leader", "hide", "seat")
        self._turns: tuple[Turn, ...] = tuple(rows)
        # whoever was cancelled since has no turn and drives nothing, whatever the rows say
        self._coming = {row.pk for row in self.values.place_rows}
        own = [turn for turn in self._turns if turn.place_id in self._coming]
        self._by_place = {(turn.place_id, turn.session_id): turn for turn in own}
        self._rests = {(rest.place_id, rest.session_id): rest.reason for rest in rota.rests.all()}
        self.drives = TripDrives(rows_of(rota.trip, self.values.session_rows, self.values.hide_rows), rota)
        self._reach: dict[tuple[str, str, Gear], HideReach] = {}
        self._sessions = {
            row.pk: value for row, value in zip(self.values.session_rows, self.values.sessions, strict=True)
        }

    def page(self, place: Place) -> DaysPage:
        """The days of one person; `place` is one of the trip."""
        return DaysPage(
            trip=self.values.trip.name,
            rota_number=self.rota.number,
            time_zone=trip_zone(self.values),
            guest=not place.photographs,
            sites=tuple(from_row(SitePage, site) for site in self._sites),
            days=self._days,
            sessions=tuple(self._session_page(place, row.pk) for row in self.values.session_rows),
        )

    def leader_pages(self) -> dict[str, DaysPage]:
        """Where and when each leader sits, by user name: no light and no gear."""
        turns: dict[str, dict[int, Turn]] = defaultdict(dict)
        for turn in self._turns:
            if turn.leader:
                turns[turn.leader.get_username()][turn.session_id] = turn
        return {name: self._leader_page(own) for name, own in sorted(turns.items())}

    def _leader_page(self, turns: dict[int, Turn]) -> DaysPage:
        rows = [row for row in self.values.session_rows if row.pk in turns]
        sessions = tuple(
            replace(
                self._session_head(row),
                turn=self._seat_page(turns[row.pk]),
                drives=self._driven.get((row.pk, person_key(turns[row.pk])), ()),
            )
            for row in rows
        )
        return DaysPage(self.values.trip.name, self.rota.number, trip_zone(self.values), guest=True, sessions=sessions)

    def drawings(self) -> dict[str, str]:
        """The seat's drawing of every view somebody sits at, as SVG by `drawing_key`, as people read it.

        In English and metres it is always there, for those who choose other units or another language later.
        """
        readers = {(row.participant.units, language_of(row.participant)) for row in self.values.place_rows}
        looks = sorted(readers | {("metric", ENGLISH)}, reverse=True)
        used = {(self._sessions[turn.session_id].key, str(turn.hide.uuid)): turn for turn in self._turns}
        found: dict[str, str] = {}
        for (session_key, hide_key), turn in sorted(used.items(), key=lambda item: item[0]):
            hide = self.values.hide(hide_key)
            if not hide.views:
                continue
            light = session_light(hide, self._hours(turn), "front", self.values.rules.light)
            for (number, view), (units, language) in product(enumerate(light.views), looks):
                options = SeatOptions(key=f"seat-{len(found)}", units=units)
                with speaking(language):
                    found[drawing_key(session_key, hide_key, number, units, language)] = seat_drawing(view, options)
        return found

    @cached_property
    def _lights(self) -> dict[tuple[str, str], SessionLight]:
        """The light of every hide in every session, whoever looks: for pick-up windows."""
        return trip_light(self.values.hides, self.values.sessions, "front", self.values.rules.light)

    @cached_property
    def rides(self) -> dict[tuple[int, str], HideRide]:
        """When each hide's people leave and are fetched, by session row id and hide key."""
        return {
            (session, hide): ride
            if ride.pick_up is None
            else replace(ride, pick_up=replace(ride.pick_up, ask=ask_first(self._light(session, hide), ride.pick_up)))
            for (session, hide), ride in self.drives.rides.items()
        }

    @cached_property
    def _driven(self) -> dict[tuple[int, str], tuple[DrivePage, ...]]:
        """What people of the trip drive, by session row id and their key."""
        found: dict[tuple[int, str], tuple[DrivePage, ...]] = defaultdict(tuple)
        names = self.drives.names
        for drive in self.drives.drives:
            page = DrivePage(
                car=names.cars.get(drive.run.car, ""),
                leaves_at=drive.leaves_at,
                back_at=drive.back_at,
                stops=tuple((names.hides[visit.hide], visit.at) for visit in drive.visits),
                fetch=drive.kind == FETCH,
                starts_in=names.hides.get(drive.starts_in, ""),
                ends_in=names.hides.get(drive.ends_in, ""),
            )
            found[self.drives.sessions[drive.run.session].pk, drive.run.driver] += (page,)
        return dict(found)

    @cached_property
    def _unsettled(self) -> frozenset[tuple[int, str]]:
        """(session row id, person's key) of those whose drive there or back cannot be made as planned."""
        return frozenset(
            (session, key)
            for session, faults in self.drives.faults.items()
            for fault in faults
            if fault.kind != "late"
            for key in (*fault.people, *fault.drive.riders)
        )

    def _light(self, session: int, hide: str) -> SessionLight | None:
        return self._lights.get((hide, self._sessions[session].key))

    @cached_property
    def _sites(self) -> tuple[Site, ...]:
        """The trip's sites, asked for once for all people."""
        return tuple(self.values.trip.sites.all())

    @cached_property
    def _days(self) -> tuple[DayPage, ...]:
        return tuple(sun_day(self._sites[0], day) for day in self.values.trip.days) if self._sites else ()

    def _session_page(self, place: Place, session_id: int) -> SessionPage:
        row = next(row for row in self.values.session_rows if row.pk == session_id)
        turn = self._by_place.get((place.pk, session_id))
        return replace(
            self._session_head(row),
            turn=self._turn_page(place, turn) if turn else None,
            rest=self._rests.get((place.pk, session_id)),
            drives=self._driven.get((session_id, f"place-{place.uuid}"), ()) if place.pk in self._coming else (),
            absent=turn is None and not is_present(place, row),
        )

    def _session_head(self, row: SessionRow) -> SessionPage:
        one = self._sessions[row.pk]
        return SessionPage(one.key, one.name, one.kind, one.starts_at, one.ends_at, row.site.time_zone, sky=one.sky)

    def _stand(self, turn: Turn) -> HideSession:
        hide = self.values.hide(str(turn.hide.uuid))
        return HideSession(hide, self._hours(turn), self.values.subjects, self.values.rules)

    def _turn_page(self, place: Place, turn: Turn) -> TurnPage:
        """The turn as the person is told of it, with their light and gear."""
        stand = self._stand(turn)
        gear = self.values.gear_then(place_key(place), stand.session.key)
        person = TurnPerson(gear, self.values.wishes[place_key(place)])
        reach = self._reach_of(place_key(place), person, stand)
        light = turn_light(person, stand, reach) if person.wishes.photographs else None
        views = view_pages(person, stand, reach, light)
        return replace(self._seat_page(turn), views=views, loans=self._loans(place, turn))

    def _loans(self, place: Place, turn: Turn) -> tuple[LoanPage, ...]:
        """What the person has of others in the session of a turn, or others of them."""
        coming = {row.pk: row for row in self.values.place_rows}
        owners = {row.participant_id: row for row in self.values.place_rows}
        found = []
        for row in self.values.away_rows:
            owner, borrower = owners.get(row.piece.participant_id), coming.get(row.borrower_id or 0)
            if owner and borrower and place in (owner, borrower) and row.covers(turn.session):
                kind = "shared" if row.shared else "lent" if place == owner else "borrowed"
                other = borrower if place == owner else owner
                found.append(LoanPage(row.piece.name, kind, place_key(other)))
        return tuple(found)

    def _seat_page(self, turn: Turn) -> TurnPage:
        """The turn for whoever has it."""
        stand = self._stand(turn)
        return from_row(
            TurnPage,
            turn.hide,
            hide_key=stand.hide.key,
            hide=turn.hide.name,
            seat=turn.seat.name,
            call=self._call_page(turn),
            company=self._company(turn),
            leaders=self._leaders(turn),
            own_hours=self._own_hours(turn, stand.session),
            stays=turn.stays,
            heat=heat_page(stand),
            views=(),
        )

    def _hours(self, turn: Turn) -> Session:
        session = self._sessions[turn.session_id]
        row = next(row for row in self.values.session_rows if row.pk == turn.session_id)
        own = next((state for state in row.session_hides.all() if state.hide_id == turn.hide_id), None)
        return with_hours(session, own.starts_at if own else None, own.ends_at if own else None)

    def _reach_of(self, key: str, person: TurnPerson, stand: HideSession) -> HideReach:
        asked = (key, stand.hide.key, person.gear)
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
        ride = self.rides[turn.session_id, str(turn.hide.uuid)]
        out, home = self.drives.rides_out(turn), self.drives.rides_home(turn)
        way = CallPage(
            car=ride.car if out else "",
            plate=ride.plate if out else "",
            driver=ride.driver if out else "",
            leaves_at=ride.leaves_at if out else None,
            in_place_at=ride.in_place_at if out else self._hours(turn).starts_at,
            drives=out and ride.driver_key == person_key(turn),
            unsettled=(turn.session_id, person_key(turn)) in self._unsettled,
        )
        if not home or ride.pick_up is None:
            return way
        window = ride.pick_up
        return replace(way, pick_up_from=window.opens_at, pick_up_to=window.closes_at, back_at=ride.back_at)
