"""The presses of the day board's sheets: each a form of hidden fields, a clock time at most typed."""

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from trips.core.local_time import ClockTimeMissing, ClockTimeTwice, moment_from_local
from trips.core.session_rules import LONGEST_H
from trips.documents.wording.happenings import NOT_ON_TRIP
from trips.models import Car, GearAway, Hide, Seat, Session, Trip
from trips.models.session import SKIES
from trips.selectors.board_sheets import sessions_ahead, sessions_meant
from trips.selectors.day_state import people_of
from trips.selectors.gear import pieces_on_trip
from trips.services.board import CHANGES, BoardChange

# What each change has to name, beside its sessions.
NEEDS = {
    "close": ("hide",),
    "open": ("hide",),
    "away": ("who",),
    "late": ("who", "until"),
    "swap": ("who", "other"),
    "give": ("who", "hide"),
    "seat_broken": ("seat",),
    "seat_mended": ("seat",),
    "sky": ("sky",),
    "car_down": ("car",),
    "gear_away": ("piece",),
    "gear_back": ("away",),
}
SPANS = ("this", "day", "trip", "range")
NAMED = {"who": "somebody", "other": "the other person", "until": "a time"}
GONE = "What you chose is not on this trip, or was taken out meanwhile. Choose again."


class BoardForm(forms.Form):
    """One change: `what` of CHANGES, about whom or what, for which sessions."""

    what = forms.ChoiceField(choices=[(what, what) for what in CHANGES])
    span = forms.ChoiceField(choices=[(span, span) for span in SPANS], required=False)
    session = forms.ModelChoiceField(Session.objects.none(), to_field_name="uuid", required=False)
    first = forms.ModelChoiceField(Session.objects.none(), to_field_name="uuid", required=False)
    last = forms.ModelChoiceField(Session.objects.none(), to_field_name="uuid", required=False)
    who = forms.CharField(max_length=60, required=False)
    other = forms.CharField(max_length=60, required=False)
    hide = forms.ModelChoiceField(Hide.objects.none(), to_field_name="uuid", required=False)
    seat = forms.ModelChoiceField(Seat.objects.none(), to_field_name="uuid", required=False)
    car = forms.ModelChoiceField(Car.objects.none(), to_field_name="uuid", required=False)
    other_car = forms.ModelChoiceField(Car.objects.none(), to_field_name="uuid", required=False)
    away = forms.ModelChoiceField(GearAway.objects.none(), to_field_name="uuid", required=False)
    piece = forms.CharField(max_length=60, required=False)
    borrower = forms.CharField(max_length=60, required=False)
    sky = forms.ChoiceField(choices=SKIES, required=False)
    until = forms.TimeField(required=False)

    def __init__(self, *args: Any, trip: Trip, now: datetime, by: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._trip, self._now, self._by = trip, now, by
        rows: dict[str, Any] = {
            **dict.fromkeys(("session", "first", "last"), trip.sessions.select_related("site", "trip")),
            "hide": Hide.objects.filter(site__trips=trip),
            "seat": Seat.objects.filter(hide__site__trips=trip).select_related("hide"),
            **dict.fromkeys(("car", "other_car"), trip.cars.all()),
            "away": trip.gear_away.all(),
        }
        for name, found in rows.items():
            field: Any = self.fields[name]
            field.queryset = found
            field.error_messages["invalid_choice"] = field.error_messages["invalid"] = GONE

    @property
    def refusal(self) -> str:
        """What is wrong, in sentences."""
        return " ".join(str(text) for texts in self.errors.values() for text in texts)

    def clean(self) -> dict[str, Any]:
        """Everything that the change needs is named, is of this trip, and lies ahead."""
        data = super().clean() or {}
        if self.errors:
            return data
        for name in NEEDS[data["what"]]:
            if not data.get(name):
                self.add_error(None, f"Choose {NAMED.get(name, f'a {name}')}.")
        self._clean_people(data)
        ahead = sessions_ahead(self._trip, self._now)
        if not self.errors and not (ahead or data["what"] in ("gear_back", "seat_mended")):
            self.add_error(None, "All sessions are over: there is nothing left to change.")
        if not self.errors:
            data["sessions"] = self._sessions(data, ahead)
        if not self.errors and data["until"]:
            data["until"] = self._moment(data["sessions"][0], data)
        if not self.errors and data["piece"]:
            data["row"] = self._away_row(data)
        return data

    @property
    def change(self) -> BoardChange:
        """The change as a value."""
        data = self.cleaned_data
        same = ("what", "sessions", "who", "other", "hide", "seat", "car", "other_car", "sky")
        fields = {name: data[name] for name in same}
        return BoardChange(
            at=self._now, by=self._by, until_at=data["until"], away=data.get("row") or data["away"], **fields
        )

    @property
    def names(self) -> dict[str, str]:
        """What sentences call whom and what the change is about."""
        data = self.cleaned_data
        row = data.get("row") or data["away"]
        found = {name: str(data[name] or "") for name in ("hide", "seat", "car")}
        found |= {name: data[name].name if data[name] else "" for name in ("who", "other")}
        return found | {"piece": str(row.piece) if row else ""}

    def _clean_people(self, data: dict[str, Any]) -> None:
        people = {one.key: one for one in people_of(self._trip)}
        for name in ("who", "other", "borrower"):
            if data.get(name) and data[name] not in people:
                self.add_error(None, NOT_ON_TRIP)
            data[name] = people.get(data.get(name, ""))
        if data["who"] is not None and data["who"] == data["other"]:
            self.add_error(None, "Choose two different people.")

    def _sessions(self, data: dict[str, Any], ahead: list[Session]) -> tuple[Session, ...]:
        """The sessions meant; one that is over is refused where it would be noted."""
        if data["session"]:
            return (data["session"],)
        if data["span"] != "range":
            return sessions_meant(ahead, data["span"])
        first, last = data["first"] or (ahead[0] if ahead else None), data["last"]
        if last is None or first is None or last.starts_at < first.starts_at:
            self.add_error(None, "The last session is before the first. Choose them again.")
            return ()
        return tuple(one for one in ahead if first.starts_at <= one.starts_at <= last.starts_at) or (last,)

    def _moment(self, session: Session, data: dict[str, Any]) -> datetime | None:
        """A clock time as a moment of the session's day, or of the next day of a night."""
        starts_at = session.starts_at.astimezone(ZoneInfo(session.site.time_zone))
        try:
            at = moment_from_local(starts_at.date(), data["until"], session.site.time_zone)
        except (ClockTimeMissing, ClockTimeTwice):
            self.add_error(None, "Clocks change then: give another time.")
            return None
        return at + timedelta(days=1) if at < starts_at - timedelta(hours=LONGEST_H / 2) else at

    def _away_row(self, data: dict[str, Any]) -> GearAway | None:
        """The loss or loan of a piece, from the first session meant to the end of the trip."""
        pieces = {f"{kind}:{piece.uuid}": (kind, piece) for kind, piece in pieces_on_trip(self._trip)}
        if data["piece"] not in pieces:
            self.add_error(None, "That piece is no longer on the trip. Choose another.")
            return None
        kind, piece = pieces[data["piece"]]
        borrower = data["borrower"].place if data["borrower"] else None
        if borrower is not None and borrower.participant_id == piece.participant_id:
            self.add_error(None, "That is the owner. Choose who has it instead.")
        from_at = max(self._now, data["sessions"][0].starts_at)
        taken = self._trip.gear_away.filter(**{kind: piece}, until_at__isnull=True, borrower__isnull=borrower is None)
        if taken.exists():
            self.add_error(None, f"{piece} is noted as away already. Take that back first.")
        return GearAway(trip=self._trip, borrower=borrower, from_at=from_at, **{kind: piece})
