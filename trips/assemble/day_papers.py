"""A rota's rows into the leader's sheets and the owner's sheets of each day."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.speaking import speaking
from trips.assemble.days import RotaPages
from trips.assemble.drives import HideRide, TripDrives
from trips.assemble.drives_told import drives_told
from trips.assemble.people import place_key
from trips.assemble.places import sun_day
from trips.assemble.session_notes import closed_words, forecast_words, stretched_words
from trips.core.drives import Drive
from trips.core.values import Session as SessionValue
from trips.documents.briefing import PaperHead
from trips.documents.day_sheet import (
    DaySheet,
    DropLine,
    FetchLine,
    PickUpLine,
    RunLine,
    SeatLine,
    SessionSheet,
)
from trips.documents.days import DaysPage, TurnPage
from trips.documents.meals import AwayLine
from trips.documents.owner_sheet import OwnerHide, OwnerSession, OwnerSheet
from trips.documents.quantities import Fact, clock_range_text, clock_text, fact
from trips.documents.wording.days import SKIES
from trips.documents.wording.reach import set_words
from trips.models import Rest, Rota, Session, Site, Turn

LENT = {"borrowed": "lent by", "lent": "lent to", "shared": "shared with"}


@dataclass(frozen=True)
class SeatTaken:
    """A turn with the words its person was told."""

    turn: Turn
    name: str
    told: TurnPage | None


class DayPapers:
    """Reads a rota's turns once and makes the sheets of its days. `pages`: the days pages by place uuid."""

    def __init__(self, rota: Rota, rota_pages: RotaPages, pages: dict[str, DaysPage]) -> None:
        self.rota, self._rota_pages, self._pages = rota, rota_pages, pages
        rows = rota.turns.select_related("session", "place__participant", "leader", "hide", "seat")
        self._turns: dict[int, list[Turn]] = defaultdict(list)
        for turn in rows.order_by("hide__name", "seat__name", "part", "pk"):
            self._turns[turn.session_id].append(turn)
        self._rests = list(rota.rests.select_related("place__participant"))

    @cached_property
    def days(self) -> dict[date, list[Session]]:
        """Session rows by the local day they start on; every day of the trip is there."""
        trip = self._rota_pages.values.trip
        found: dict[date, list[Session]] = {day: [] for day in trip.days}
        for row, session in self._sessions:
            found.setdefault(session.starts_at.date(), []).append(row)
        return dict(sorted(found.items()))

    @property
    def _sessions(self) -> Iterable[tuple[Session, SessionValue]]:
        values = self._rota_pages.values
        return zip(values.session_rows, values.sessions, strict=True)

    def day_sheets(self, head: PaperHead) -> tuple[DaySheet, ...]:
        """The leader's sheet of every day."""
        return tuple(
            DaySheet(head, day, tuple(map(self._session_sheet, rows)), self._sun(day), away=self._away(day))
            for day, rows in self.days.items()
        )

    def _away(self, day: date) -> tuple[AwayLine, ...]:
        lines = self._rota_pages.drives.away
        return tuple(line for line in lines if line.leaves_at.date() <= day <= line.back_at.date())

    def owner_sheets(self, head: PaperHead) -> dict[str, tuple[OwnerSheet, ...]]:
        """The owner's sheets by site uuid, in the owner's language; a day on which nobody comes has a sheet too."""
        sites = self._rota_pages.values.trip.sites.all()
        found = {}
        for site in sites:
            with speaking(site.owner_language):
                found[str(site.uuid)] = tuple(self._owner_sheet(head, site, day) for day in self.days)
        return found

    @cached_property
    def _names(self) -> dict[str, str]:
        """The names of those who lend and borrow gear, by place key."""
        return {place_key(row): isolated(row.participant.name) for row in self._rota_pages.values.place_rows}

    def taken(self, session: Session) -> list[SeatTaken]:
        """Who sits where in a session, by hide and seat."""
        return [SeatTaken(turn, person_name(turn), self._told(turn)) for turn in self._turns[session.pk]]

    def hides_in_use(self, session: Session) -> dict[str, OwnerHide]:
        """The hides of a session with people in them, by the hide's uuid."""
        rides, by_hide = self.rides(session), defaultdict(list)
        for one in self.taken(session):
            by_hide[str(one.turn.hide.uuid)].append(one)
        return {key: _owner_hide(ones, rides[key]) for key, ones in by_hide.items()}

    def rides(self, session: Session) -> dict[str, HideRide]:
        """When people leave and are fetched in a session, by hide key."""
        return {key: ride for (pk, key), ride in self._rota_pages.rides.items() if pk == session.pk}

    def _told(self, turn: Turn) -> TurnPage | None:
        page = self._pages.get(str(turn.place.uuid)) if turn.place else None
        session = page.session(str(turn.session.uuid)) if page else None
        return session.turn if session else None

    def _value(self, row: Session) -> SessionValue:
        return next(value for one, value in self._sessions if one.pk == row.pk)

    def _hours(self, row: Session) -> str:
        session = self._value(row)
        return clock_range_text(session.starts_at, session.ends_at)

    def _session_sheet(self, row: Session) -> SessionSheet:
        taken, rides, drives = self.taken(row), self.rides(row), self._rota_pages.drives
        values = self._rota_pages.values
        rests = [rest for rest in self._rests if rest.session_id == row.pk]
        in_use = {str(one.turn.hide.uuid): one.turn.hide.name for one in taken}
        return SessionSheet(
            name=row.kind.capitalize(),
            hours=self._hours(row),
            sky=SKIES[row.sky],
            seats=tuple(_seat_line(one, self._names) for one in taken),
            runs=tuple(_runs(taken, rides)),
            pick_ups=tuple(
                PickUpLine(in_use[key], _window(ride), ride.pick_up.ask)
                for key, ride in _by_arrival(rides)
                if ride.pick_up is not None
            ),
            rests=tuple(_rest(rest) for rest in rests),
            notes=closed_words(row),
            fetches=tuple(_fetch_line(drives, drive) for drive in drives.of(row, "fetch")),
            faults=tuple(f"{told.fault} {told.remedy}" for told in drives_told(drives, row.pk)),
            forecast=forecast_words(values, self._value(row)),
            stretched=tuple(filter(None, (stretched_words(values, one.turn, one.name) for one in taken))),
        )

    def _sun(self, day: date) -> tuple[Fact, ...]:
        lines: list[Fact] = []
        for site in self._rota_pages.values.trip.sites.all():
            sun = sun_day(site, day)
            moments = {"first light": sun.first_light, "sunrise": sun.sunrise, "sunset": sun.sunset}
            moments["last light"] = sun.last_light
            words = ", ".join(f"{name} {clock_text(at) if at else 'none'}" for name, at in moments.items())
            owner = ", ".join(isolated(part) for part in (site.owner, site.owner_contact) if part)
            changes = f"{site.last_changes_time:%H:%M}" if site.last_changes_time else None
            lines += [
                Fact(f"Sun, {isolated(site.name)}", words),
                fact("Emergency number", site.emergency_number),
                fact("Owner", owner),
                fact("Last time for changes", changes),
            ]
        return tuple(lines)

    def _owner_sheet(self, head: PaperHead, site: Site, day: date) -> OwnerSheet:
        rows = [row for row in self.days[day] if row.site_id == site.pk]
        people = {one.name for row in rows for one in self.taken(row)}
        changes = f"{site.last_changes_time:%H:%M}" if site.last_changes_time else None
        return OwnerSheet(
            head=head,
            day=day,
            site=site.name,
            people=len(people),
            sessions=tuple(self._owner_session(row) for row in rows),
            facts=(fact(_("Last time for changes"), changes), fact(_("Meeting point"), site.meeting_point)),
            language=site.owner_language,
        )

    def _owner_session(self, row: Session) -> OwnerSession:
        taken, rides = self.taken(row), self.rides(row)
        cars = tuple(
            _(
                "{car}, leaves {clock}",
                car=", ".join(map(isolated, filter(None, (run.car, run.plate)))),
                clock=run.leaves,
            )
            for run in _runs(taken, rides)
        )
        return OwnerSession(
            name=str(row.get_kind_display()).capitalize(),
            hours=self._hours(row),
            people=len({one.name for one in taken}),
            hides=tuple(self.hides_in_use(row).values()),
            cars=cars,
            closed=closed_words(row),
        )


def person_name(turn: Turn) -> str:
    """The name of a turn's person; a leader is said to be one."""
    if turn.place:
        return str(turn.place.participant.name)
    if not turn.leader:
        return ""
    return _("{name} (leader)", name=isolated(turn.leader.get_full_name() or turn.leader.get_username()))


def riders(taken: list[SeatTaken], key: str) -> list[str]:
    """Names of those whom a car brings to a hide; people who stayed there are not among them."""
    return [
        one.name
        for one in taken
        if str(one.turn.hide.uuid) == key and (one.told is None or one.told.call.leaves_at is not None)
    ]


def _by_arrival(rides: dict[str, HideRide]) -> list[tuple[str, HideRide]]:
    return sorted(rides.items(), key=lambda one: (one[1].car, one[1].arrives_at or one[1].in_place_at, one[0]))


def _runs(taken: list[SeatTaken], rides: dict[str, HideRide]) -> list[RunLine]:
    names = {str(one.turn.hide.uuid): one.turn.hide.name for one in taken}
    rounds: dict[tuple[str, int], list[tuple[str, HideRide]]] = defaultdict(list)
    for key, ride in _by_arrival(rides):
        if ride.leaves_at is not None:
            rounds[ride.car, ride.run].append((key, ride))
    return [
        RunLine(
            car=car or _("The car"),
            leaves=clock_text(own[0][1].leaves_at),
            drops=tuple(
                DropLine(names[key], clock_text(ride.arrives_at), ", ".join(map(isolated, riders(taken, key))), minutes)
                for (key, ride), minutes in zip(own, _minutes_between(own), strict=True)
            ),
            plate=own[0][1].plate,
            driver=own[0][1].driver,
            too_many=own[0][1].too_many,
            back=own[0][1].out_ends,
        )
        for (car, _run), own in sorted(rounds.items(), key=lambda item: (item[1][0][1].leaves_at, item[0]))
    ]


def _minutes_between(rides: list[tuple[str, HideRide]]) -> list[int | None]:
    """Minutes of each drop since the car left or dropped others before."""
    moments = [rides[0][1].leaves_at, *(ride.arrives_at for _key, ride in rides)]
    return [round((at - before) / timedelta(minutes=1)) if at and before else None for before, at in pairwise(moments)]


def _fetch_line(drives: TripDrives, drive: Drive) -> FetchLine:
    names = drives.names
    stops = ", ".join(f"{names.where((visit.hide,))} {clock_text(visit.at)}" for visit in drive.visits)
    car = names.car(drive.run.car, drive.run.number).removeprefix("the ")
    leaves = f"{clock_text(drive.leaves_at)} from {names.where((drive.starts_in,))}" if drive.starts_in else ""
    return FetchLine(car, leaves or clock_text(drive.leaves_at), stops, clock_text(drive.back_at))


def _window(ride: HideRide) -> str:
    return clock_range_text(ride.pick_up.opens_at, ride.pick_up.closes_at) if ride.pick_up else _("they stay")


def _seat_line(one: SeatTaken, names: Mapping[str, str]) -> SeatLine:
    notes, lens, place = [], "", one.turn.place
    if one.told is not None:
        reach = one.told.views[0].reach if one.told.views else None
        lens = set_words(reach.best) if reach and reach.best else ""
        notes += [
            f"{isolated(loan.piece)} {LENT[loan.kind]} {names.get(loan.other, 'somebody')}" for loan in one.told.loans
        ]
        if one.told.own_hours:
            notes.append(", ".join(clock_range_text(start, end) for start, end in one.told.own_hours))
        if one.told.call.leaves_at is None:
            notes.append("there already")
        if one.told.stays:
            notes.append("stays through the break")
    if place is not None and place.carry_help:
        notes.append("carry help")
    return SeatLine(one.turn.hide.name, one.turn.seat.name, one.name, lens, "; ".join(notes))


def _rest(rest: Rest) -> str:
    name = isolated(rest.place.participant.name)
    return f"{name} ({isolated(rest.reason)})" if rest.reason else name


def _owner_hide(taken: list[SeatTaken], ride: HideRide) -> OwnerHide:
    hide, comes = taken[0].turn.hide, ride.leaves_at is not None
    return OwnerHide(
        name=hide.name,
        people=tuple(f"{isolated(one.turn.seat.name)}: {isolated(one.name)}" for one in taken),
        seated=clock_text(ride.in_place_at) if comes else _("there already"),
        pick_up=_window(ride),
        cars=" ".join(isolated(part) for part in (ride.car, ride.plate) if part) if comes else "",
        tasks=hide.owner_tasks,
    )
