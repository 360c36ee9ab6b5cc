"""Forms of the rota's page: making, changing, issuing."""

from collections.abc import Iterator
from typing import Any

from django import forms

from participants.core.isolation import typed_text
from participants.form_fields import NumberField
from trips.core.rota.search.outcome import SearchTime
from trips.forms.person import PlaceChoiceField
from trips.models import ON_TRIP, Place, Rota, Seat, Session, Trip
from trips.services.making import Wanted
from trips.services.notices import TICKS
from trips.services.turn import Edit

SEARCH_TIMES = [
    (SearchTime.QUICK.value, "quick: about 5 seconds"),
    (SearchTime.NORMAL.value, "normal: up to a minute"),
    (SearchTime.THOROUGH.value, "thorough: until nothing better is possible, or you stop it"),
]
REPAIRS = [
    ("fewest", "the fewest changes"),
    ("few", "up to two more changes, if that makes it fairer"),
    ("free", "plan the rest freely"),
    ("", "plan the whole trip again"),
]
KINDS = [
    ("move", "Move to another seat"),
    ("swap", "Change places with somebody"),
    ("rest", "Rest in this session"),
    ("stay", "Stay in the hide through the break after it"),
    ("leave", "No longer stay through the break"),
]


REPAIR_HELP = "People know the issued rota: fewest changes keeps as much of it as the rules allow."


class MakeForm(forms.Form):
    """How a rota is made."""

    search_time = forms.TypedChoiceField(
        choices=SEARCH_TIMES,
        initial=SearchTime.NORMAL.value,
        coerce=SearchTime,
        label="Search time",
        help_text="Quick is good enough on the day. Normal finds the best possible rota of most trips. You can take "
        "what is found at any time. Papers and mails do not wait for a search.",
    )
    seed = NumberField(
        whole=True,
        min_value=0,
        max_value=2**31 - 1,
        initial=0,
        required=False,
        label="Draw number",
        help_text="The same draw number gives the same rota again; another may break ties in another way.",
    )
    repair = forms.ChoiceField(choices=REPAIRS, required=False, label="What may change", help_text=REPAIR_HELP)
    from_session = forms.ModelChoiceField(
        Session.objects.none(),
        required=False,
        empty_label="the next session",
        label="Beginning with",
        help_text="Only for repairs. Earlier sessions do not change.",
    )

    def __init__(self, *args: Any, trip: Trip, issued: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if issued:
            chosen: Any = self.fields["from_session"]
            chosen.queryset = trip.sessions.all()
            self.fields["repair"].initial = "fewest"
            self.fields["search_time"].initial = SearchTime.QUICK.value  # people wait, and few of them move
        else:
            del self.fields["repair"], self.fields["from_session"]

    def clean(self) -> dict[str, Any]:
        """A session to begin with needs an issued rota that is repaired from there."""
        cleaned = super().clean() or {}
        if cleaned.get("from_session") and cleaned.get("repair") == "":
            text = "Only for repairs: a new plan keeps nothing of the issued rota. Choose one of the two."
            self.add_error("from_session", text)
        return cleaned

    @property
    def wanted(self) -> Wanted:
        """What the run is asked for."""
        data = self.cleaned_data
        return Wanted(
            seed=data["seed"] or 0,
            search_time=data["search_time"],
            repair=data.get("repair", ""),
            from_session=data.get("from_session"),
        )


class SeatChoiceIterator(forms.models.ModelChoiceIterator):
    """Seats in groups by hide."""

    def __iter__(self) -> Iterator[Any]:
        yield ("", self.field.empty_label)
        groups: dict[str, list[tuple[Any, str]]] = {}
        for seat in self.queryset:
            groups.setdefault(seat.hide.name, []).append((self.field.prepare_value(seat), self._label(seat)))
        yield from groups.items()

    def _label(self, seat: Seat) -> str:
        return f"{seat.hide.name}, {seat.name}{f' ({seat.defects})' if seat.defects else ''}"


class SeatChoiceField(forms.ModelChoiceField):
    """A choice among seats, in groups by hide."""

    iterator = SeatChoiceIterator


class EditForm(forms.Form):
    """One change of one person in one session; the same that drag-and-drop does."""

    kind = forms.ChoiceField(choices=KINDS, widget=forms.RadioSelect, initial="move", label="What changes")
    seat = SeatChoiceField(Seat.objects.none(), required=False, empty_label="choose a seat", label="Seat")
    other = PlaceChoiceField(
        Place.objects.none(), required=False, empty_label="choose a person", label="Change places with"
    )
    why = forms.CharField(max_length=300, required=False, label="Why", help_text="Kept with the change.")

    def __init__(self, *args: Any, rota: Rota, session: Session, place: Place | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.session, self.place = session, place
        fields: dict[str, Any] = self.fields
        seats = Seat.objects.filter(hide__site=session.site).select_related("hide")
        fields["seat"].queryset = seats.order_by("hide__name", "name")
        others = rota.trip.places.filter(state__in=ON_TRIP).select_related("participant")
        fields["other"].queryset = others.exclude(pk=place.pk) if place else others
        kind: Any = self.fields["kind"]
        if place is None:
            kind.choices = [("move", "Move to another seat"), ("rest", "Take no seat in this session")]
            del self.fields["other"]
        else:
            stays = rota.turns.filter(session=session, place=place, stays=True).exists()
            kind.choices = [one for one in KINDS if one[0] != ("stay" if stays else "leave")]

    def clean(self) -> dict[str, Any]:
        """A move needs a seat, a swap needs a person."""
        cleaned = super().clean() or {}
        if cleaned.get("kind") == "move" and not cleaned.get("seat"):
            self.add_error("seat", "Choose the seat to move to.")
        if cleaned.get("kind") == "swap" and not cleaned.get("other"):
            self.add_error("other", "Choose the person to change places with.")
        return cleaned

    def clean_why(self) -> str:
        """The reason, without a mark that would turn round what stands after it."""
        return typed_text(self.cleaned_data["why"])

    @property
    def edit(self) -> Edit:
        """The change as a value."""
        data = self.cleaned_data
        seat: Seat | None = data["seat"] if data["kind"] == "move" else None
        return Edit(
            kind="stay" if data["kind"] == "leave" else data["kind"],
            session=self.session,
            place=self.place,
            hide=seat.hide if seat else None,
            seat=seat,
            other=data.get("other"),
            stays=data["kind"] != "leave",
        )


class CompareForm(forms.Form):
    """Two rotas side by side."""

    left = forms.TypedChoiceField(coerce=int, label="This rota")
    right = forms.TypedChoiceField(coerce=int, label="beside this one")

    def __init__(self, *args: Any, numbers: list[int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(number, f"rota {number}") for number in numbers]
        for name in ("left", "right"):
            field: Any = self.fields[name]
            field.choices = choices


class ToldTickForm(forms.Form):
    """Which tick was pressed."""

    tick = forms.ChoiceField(choices=[(tick, tick) for tick in TICKS])
