"""The day board: what comes next, when which car leaves, who is where, and what people say."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.urls import reverse

from participants.core.isolation import isolated
from trips.assemble.drives import HideRide, sunrise_of
from trips.assemble.places import point_value
from trips.assemble.sessions import session_label
from trips.core.day import PersonNow, SessionNow
from trips.documents.wording.board import countdown, head_count, shut_in_sentence, unconfirmed_sentence, weather_line
from trips.documents.wording.rota_names import starting
from trips.models import GearAway, Hide, Issue, Notice, Rota, RotaState, Session, Trip
from trips.models.gear_away import OWNED_PIECES
from trips.selectors.day import rota_in_force
from trips.selectors.day_state import ALARM_DAYS, TripDay, trip_day
from trips.selectors.messages import MessageLine, messages_open
from trips.selectors.out_back import told

NOT_AWAITED = ("back", "not_coming")


@dataclass(frozen=True)
class BoardPerson:
    """Somebody in a hide now. `key`: what sheets name them by."""

    key: str
    name: str
    standing: str


@dataclass(frozen=True)
class BoardHide:
    """A hide in use with its people."""

    hide: Hide
    people: tuple[BoardPerson, ...]
    is_closed: bool
    ride: HideRide | None


@dataclass(frozen=True)
class BoardCar:
    """A run of a car with its hides, moments on the site's clock. `leaves_at` None: its people are there already."""

    name: str
    driver: str
    leaves_at: datetime | None
    hides: tuple[BoardHide, ...]

    @property
    def fetch_leaves_at(self) -> datetime | None:
        """When the car leaves to fetch the first of them; None where they stay."""
        return min(
            (one.ride.fetch_leaves_at for one in self.hides if one.ride and one.ride.fetch_leaves_at), default=None
        )

    @property
    def fetch_at(self) -> datetime | None:
        """From when the first of them are fetched."""
        return min((one.ride.pick_up.opens_at for one in self.hides if one.ride and one.ride.pick_up), default=None)


@dataclass(frozen=True)
class NextThing:
    """What happens next: at which moment, what, how far off, and about whom."""

    at: datetime
    what: str
    countdown: str
    who: str = ""
    is_overdue: bool = False


@dataclass(frozen=True)
class InboxLine:
    """What somebody said or did that the leader has to see; `url`: where to answer it."""

    text: str
    url: str


@dataclass(frozen=True)
class Board:
    """The board at a moment. `session` None: nothing is ahead any more; `next` None: nothing is awaited."""

    now: datetime
    zone: str
    rota: Rota | None
    session: Session | None = None
    label: str = ""
    next: NextThing | None = None
    cars: tuple[BoardCar, ...] = ()
    heads: str = ""
    weather: str = ""
    inbox: tuple[InboxLine, ...] = ()
    messages: tuple[MessageLine, ...] = ()

    @property
    def ticks_out(self) -> bool:
        """Whether somebody has yet to be ticked out, so that this is what the leader does next."""
        return any(
            one.standing in ("not_out", "late") for car in self.cars for hide in car.hides for one in hide.people
        )


def board(trip: Trip, *, now: datetime) -> Board:
    """The first session that is not over or that somebody is still out from, with all that a leader acts on."""
    day, rota = trip_day(trip, now=now), rota_in_force(trip)
    zone = next((row.site.time_zone for row in day.sessions.values()), "UTC")
    state = in_focus(day)
    local = now.astimezone(ZoneInfo(zone))
    if state is None:
        return Board(local, zone, rota, inbox=tuple(_inbox(trip, rota, now)), messages=messages_open(trip))
    session = day.sessions[state.session.key]
    zone = session.site.time_zone
    local, cars = now.astimezone(ZoneInfo(zone)), tuple(_cars(day, state, session))
    coming = min(_events(day, state, cars, local), default=None, key=lambda one: (not one.is_overdue, one.at))
    disagree = [
        InboxLine(told(day, one, ZoneInfo(zone)), reverse("trips:out-show", args=[trip.uuid, session.uuid]))
        for one in state.contradictions
    ]
    return Board(
        now=local,
        zone=zone,
        rota=rota,
        session=session,
        label=session_label(session),
        next=coming,
        cars=cars,
        heads=head_count(Counter(one.standing for one in state.people)),
        weather=_weather(session),
        inbox=(*_shut_in(trip, session, cars, local), *disagree, *_inbox(trip, rota, now)),
        messages=messages_open(trip),
    )


def in_focus(day: TripDay) -> SessionNow | None:
    """The session that a leader runs now: the first that goes on, is ahead, or that somebody has not come back from."""
    now = day.state.at
    for state in day.state.sessions:
        is_awaited = any(one.is_out or one.is_overdue for one in state.people)
        if state.session.ends_at > now or (is_awaited and state.session.ends_at > now - timedelta(days=ALARM_DAYS)):
            return state
    return None


def _cars(day: TripDay, state: SessionNow, session: Session) -> Iterator[BoardCar]:
    """The runs of a session in the order in which they leave, then the hides whose people no car takes."""
    assert day.drives is not None
    zone = ZoneInfo(session.site.time_zone)
    by_run: dict[tuple[str, int, datetime | None], list[BoardHide]] = {}
    for key in sorted({one.hide for one in state.people if one.hide in day.hides}, key=lambda one: day.hides[one].name):
        ride = day.drives.rides.get((session.pk, key))
        people = sorted((one for one in state.people if one.hide == key), key=lambda one: day.people[one.person].name)
        line = BoardHide(day.hides[key], tuple(_person(day, one) for one in people), key in state.closed, ride)
        leaves_at = ride.leaves_at.astimezone(zone) if ride and ride.leaves_at else None
        by_run.setdefault((ride.car if ride else "", ride.run if ride else 1, leaves_at), []).append(line)
    last = datetime.max.replace(tzinfo=zone)
    for (car, _run, leaves_at), hides in sorted(by_run.items(), key=lambda one: (one[0][2] or last, one[0])):
        yield BoardCar(car, hides[0].ride.driver if hides[0].ride else "", leaves_at, tuple(hides))


def _person(day: TripDay, one: PersonNow) -> BoardPerson:
    return BoardPerson(one.person, day.people[one.person].name, one.standing)


def _events(day: TripDay, state: SessionNow, cars: tuple[BoardCar, ...], now: datetime) -> Iterator[NextThing]:
    """Who is overdue, who comes late, and which cars leave from now on for people who are awaited."""
    zone = now.tzinfo
    overdue = [one for one in state.people if one.is_overdue]
    if overdue:
        since = min(one.due_at for one in overdue if one.due_at).astimezone(zone)
        names = ", ".join(map(isolated, sorted(day.people[one.person].name for one in overdue)))
        yield NextThing(since, "Overdue", f"due {countdown(since, now)}", names, is_overdue=True)
    for one in state.people:
        if one.standing == "late" and one.late and one.late.until_at and one.late.until_at > now:
            at, name = one.late.until_at.astimezone(zone), isolated(day.people[one.person].name)
            yield NextThing(at, f"{name} comes", countdown(at, now))
    for car in cars:
        people = [one for hide in car.hides for one in hide.people if one.standing not in NOT_AWAITED]
        hides = ", ".join(isolated(one.hide.name) for one in car.hides)
        name = starting(isolated(car.name)) if car.name else "The car"
        if car.leaves_at and car.leaves_at > now and people:
            who = f"{hides}: {', '.join(isolated(one.name) for one in people)}"
            yield NextThing(car.leaves_at, f"{name} leaves", countdown(car.leaves_at, now), who)
        fetch_at = car.fetch_leaves_at and car.fetch_leaves_at.astimezone(zone)
        if fetch_at and fetch_at > now and people:
            yield NextThing(fetch_at, f"{name} leaves to fetch people", countdown(fetch_at, now), hides)


def _weather(session: Session) -> str:
    zone, trip = ZoneInfo(session.site.time_zone), session.trip
    starts_at, hour = session.starts_at.astimezone(zone), timedelta(hours=1)
    airs = [one.air_c for one in session.forecasts.all() if starts_at - hour < one.hour < session.ends_at + hour]
    sunrise = sunrise_of(point_value(session.site), starts_at) if session.kind == "early" else None
    return weather_line(session.sky, airs, session.wind_from_deg, sunrise, trip.units)


def _shut_in(trip: Trip, session: Session, cars: tuple[BoardCar, ...], now: datetime) -> Iterator[InboxLine]:
    """Closed hides in which people sit while the session goes on."""
    for hide in (hide for car in cars for hide in car.hides if hide.is_closed and session.starts_at <= now):
        people = [one.name for one in hide.people if one.standing not in NOT_AWAITED]
        if people:
            url = reverse("trips:board-move", args=[trip.uuid], query={"key": str(hide.hide.uuid)})
            yield InboxLine(shut_in_sentence(hide.hide.name, people), url)


def _inbox(trip: Trip, rota: Rota | None, now: datetime) -> Iterator[InboxLine]:
    """Drafts that wait, people who do not know of the last change yet, and gear that people say is lost."""
    draft = trip.rotas.filter(state=RotaState.DRAFT).order_by("-number").first()
    if draft is not None and rota is not None and rota.state == RotaState.ISSUED and draft.number > rota.number:
        url = reverse("trips:board-confirm", args=[trip.uuid, draft.number])
        yield InboxLine(f"Rota {draft.number} is not issued yet.", url)
    notices = Notice.objects.filter(issue__rota=rota, confirmed_at__isnull=True, place__isnull=False)
    notices = notices.filter(Q(session=None) | Q(session__ends_at__gt=now)).order_by("place__participant__name")
    waiting = list(notices.values_list("place__participant__name", "session"))
    for number in (rota.number if rota else 0, None):
        names = dict.fromkeys(name for name, session in waiting if (session is None) == (number is not None))
        if names:
            yield InboxLine(unconfirmed_sentence(list(names), number), reverse("trips:told-list", args=[trip.uuid]))
    issued = Issue.objects.filter(rota=rota).values("issued_at")[:1]
    lost = GearAway.objects.filter(trip=trip, borrower__isnull=True, changed_at__gt=issued)
    for row in lost.select_related(*OWNED_PIECES):
        text = f"{isolated(row.piece.participant.name)}: {row.piece} is lost or broken."
        yield InboxLine(text, reverse("trips:gear-table", args=[trip.uuid]))
