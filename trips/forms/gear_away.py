"""Where gear is for a part of a trip: lost or broken, lent, shared."""

from collections.abc import Mapping
from typing import Any

from django import forms

from trips.assemble import session_value
from trips.forms.person import PlaceChoiceField
from trips.models import ON_TRIP, GearAway, Place, Session, Trip
from trips.models.gear_away import PIECES
from trips.selectors.gear import gear_away_of, pieces_on_trip, sessions_to_name

WHAT = [("lent", "lent"), ("shared", "shared: both use it, in one hide"), ("lost", "lost or broken")]


class SessionChoiceField(forms.ModelChoiceField):
    """A choice among sessions, by the names that people know."""

    def label_from_instance(self, obj: Any) -> str:
        return session_value(obj).name


class GearAwayForm(forms.Form):
    """A piece lost, lent or shared, by the trip's leader."""

    piece = forms.ChoiceField(label="Which piece")
    what = forms.ChoiceField(choices=WHAT, label="What happened", widget=forms.RadioSelect, initial="lent")
    borrower = PlaceChoiceField(
        Place.objects.none(), required=False, label="Who has it", help_text="Empty for what is lost or broken."
    )
    from_session = SessionChoiceField(Session.objects.none(), label="From")
    until_session = SessionChoiceField(
        Session.objects.none(), required=False, label="Up to and including", empty_label="the end of the trip"
    )

    def __init__(
        self, *args: Any, trip: Trip, row: GearAway | None = None, asked: Mapping[str, str] | None = None, **kwargs: Any
    ) -> None:
        self.trip, self.row = trip, row or GearAway(trip=trip)
        self.sessions = list(trip.sessions.all())
        if row is not None:
            kwargs.setdefault("initial", _typed(row, self.sessions))
        elif asked:
            kwargs.setdefault("initial", _asked(asked, trip, self.sessions))
        super().__init__(*args, **kwargs)
        self.pieces = {f"{kind}:{piece.uuid}": (kind, piece) for kind, piece in pieces_on_trip(trip)}
        choice: Any = self.fields["piece"]
        choice.choices = [(key, f"{piece.participant.name}: {piece.name}") for key, (_, piece) in self.pieces.items()]
        rows: dict[str, Any] = {
            "borrower": trip.places.filter(photographs=True, state__in=ON_TRIP).select_related("participant")
        }
        for name in ("from_session", "until_session"):
            rows[name] = sessions_to_name(trip)
        for name, found in rows.items():
            field: Any = self.fields[name]
            field.queryset = found

    def clean(self) -> dict[str, Any]:
        """Somebody else has it, the end is not before the start, and nobody else has the piece meanwhile."""
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        kind, piece = self.pieces[data["piece"]]
        lost, borrower, until = data["what"] == "lost", data["borrower"], data["until_session"]
        if not lost and borrower is None:
            self.add_error("borrower", "Say who has it.")
        elif not lost and borrower.participant_id == piece.participant_id:
            self.add_error("borrower", "That is the owner. Choose who has it instead.")
        if until is not None and until.starts_at < data["from_session"].starts_at:
            self.add_error("until_session", "This is before the session it begins with.")
        if self.errors:
            return data
        for name in PIECES:
            setattr(self.row, name, piece if name == kind else None)
        self.row.borrower, self.row.shared = (None if lost else borrower), data["what"] == "shared"
        self.row.from_at, self.row.until_at = data["from_session"].starts_at, until.ends_at if until else None
        taken = next((other for other in gear_away_of(self.trip) if _collides(self.row, other)), None)
        if taken is not None:
            said = f"{taken.borrower.participant.name} has it" if taken.borrower else "it is lost or broken"
            self.add_error("piece", f"By the list of loans {said} then. Change that first.")
        return data


class PieceLostForm(forms.Form):
    """A piece of one's own that is lost or broken: from which session on."""

    from_session = SessionChoiceField(Session.objects.none(), label="I do not have it from", empty_label=None)

    def __init__(self, *args: Any, trip: Trip, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["from_session"]
        field.queryset = sessions_to_name(trip)


def _asked(asked: Mapping[str, str], trip: Trip, sessions: list[Session]) -> dict[str, Any]:
    """A loan that a page offered: `piece` as "lens:UUID", `borrower` and `from` by their uuids; others are left out."""
    places = {str(place.uuid): place.pk for place in trip.places.all()}
    starts = {str(session.uuid): session.pk for session in sessions}
    return {
        "piece": asked.get("piece", ""),
        "borrower": places.get(asked.get("borrower", "")),
        "from_session": starts.get(asked.get("from", "")),
    }


def _typed(row: GearAway, sessions: list[Session]) -> dict[str, Any]:
    """What a form showed when this row was saved."""
    within = [session for session in sessions if row.covers(session)]
    return {
        "piece": f"{row.kind}:{row.piece.uuid}",
        "what": "lost" if row.borrower is None else "shared" if row.shared else "lent",
        "borrower": row.borrower,
        "from_session": within[0] if within else None,
        "until_session": within[-1] if within and row.until_at else None,
    }


def _collides(row: GearAway, other: GearAway) -> bool:
    """Whether two rows put one piece at two people at a time; a lent piece may get lost, a shared one have several."""
    if other.pk == row.pk or other.piece != row.piece or (row.borrower is None) != (other.borrower is None):
        return False
    if row.shared and other.shared and row.borrower != other.borrower:
        return False
    apart = (row.until_at and row.until_at <= other.from_at) or (other.until_at and other.until_at <= row.from_at)
    return not apart
