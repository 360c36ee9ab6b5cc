"""A whole trip as values beside its rows: read once, in a fixed number of queries."""

from dataclasses import dataclass, field

from django.db.models import Prefetch

from participants.core.gear import Gear
from trips.assemble.people import PIECE_LISTS, GearThen, gear_then, gear_value, limit_values, wishes_value
from trips.assemble.places import hide_value, subject_value
from trips.assemble.sessions import rules_value, session_value
from trips.core.values import Hide, Limit, Rules, Session, Subject, Wishes
from trips.models import ON_TRIP, GearAway, Trip
from trips.models import Hide as HideRow
from trips.models import HideSubject as HideSubjectRow
from trips.models import Place as PlaceRow
from trips.models import Session as SessionRow
from trips.models.gear_away import OWNED_PIECES


@dataclass(frozen=True)
class TripValues:
    """A trip's values by key (the row's uuid as text), with the rows in the same order.

    `places` are the people who count (confirmed and invited), by name; `sessions` by start; `hides` by name.
    """

    trip: Trip
    rules: Rules
    place_rows: tuple[PlaceRow, ...]
    session_rows: tuple[SessionRow, ...]
    hide_rows: tuple[HideRow, ...]
    sessions: tuple[Session, ...]
    hides: tuple[Hide, ...]
    subjects: tuple[Subject, ...]
    gear: dict[str, Gear]
    wishes: dict[str, Wishes]
    limits: dict[str, tuple[Limit, ...]]
    away_rows: tuple[GearAway, ...] = ()
    gear_by_session: GearThen = field(default_factory=GearThen)

    def gear_then(self, place: str, session: str) -> Gear:
        """What a person has with them in a session: as typed in, but for what is lost, lent or borrowed."""
        return self.gear_by_session.changed.get((place, session), self.gear[place])

    def hide(self, key: str) -> Hide:
        """The hide of that key."""
        return next(hide for hide in self.hides if hide.key == key)

    def session(self, key: str) -> Session:
        """The session of that key."""
        return next(session for session in self.sessions if session.key == key)

    def subject(self, key: str) -> Subject:
        """The subject of that key."""
        return next(subject for subject in self.subjects if subject.key == key)

    def place_row(self, key: str) -> PlaceRow:
        """The place row of that key."""
        return next(row for row in self.place_rows if str(row.uuid) == key)


def _hide_rows(trip: Trip) -> tuple[HideRow, ...]:
    chances = Prefetch("hide_subjects", HideSubjectRow.objects.select_related("subject"))
    rows = HideRow.objects.filter(site__trips=trip).select_related("site").order_by("name", "uuid")
    return tuple(rows.prefetch_related("views", "seats", chances))


def _place_rows(trip: Trip) -> tuple[PlaceRow, ...]:
    rows = trip.places.filter(state__in=ON_TRIP).select_related("participant")
    lists = [f"participant__{kind}" for kind in PIECE_LISTS]
    return tuple(rows.prefetch_related("wishes__subject", "agains__hide", "absences", *lists))


def trip_values(trip: Trip) -> TripValues:
    """Everything a trip's light, reach, rota and papers are computed from."""
    rules_row = getattr(trip, "rules", None)
    session_rows = tuple(trip.sessions.select_related("site").prefetch_related("forecasts", "session_hides__hide"))
    place_rows, hide_rows = _place_rows(trip), _hide_rows(trip)
    wanted = {chance.subject_id: chance.subject for hide in hide_rows for chance in hide.hide_subjects.all()}
    wanted |= {subject.pk: subject for subject in trip.subjects.all()}
    subject_rows = tuple(sorted(wanted.values(), key=lambda subject: (subject.name, str(subject.uuid))))
    keys = [str(row.uuid) for row in place_rows]
    gear = {key: gear_value(row.participant) for key, row in zip(keys, place_rows, strict=True)}
    away = tuple(trip.gear_away.select_related("borrower__participant", *OWNED_PIECES))
    return TripValues(
        trip=trip,
        rules=rules_value(rules_row),
        place_rows=place_rows,
        session_rows=session_rows,
        hide_rows=hide_rows,
        sessions=tuple(session_value(row, rules_row) for row in session_rows),
        hides=tuple(hide_value(row, trip.starts_on.month) for row in hide_rows),
        subjects=tuple(subject_value(row) for row in subject_rows),
        gear=gear,
        wishes={key: wishes_value(row) for key, row in zip(keys, place_rows, strict=True)},
        limits={key: limit_values(row) for key, row in zip(keys, place_rows, strict=True)},
        away_rows=away,
        gear_by_session=gear_then(place_rows, session_rows, away, gear),
    )
