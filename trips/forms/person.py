"""Forms by which a leader keeps the people of a trip."""

from typing import Any

from django import forms

from participants.form_fields import PhonesChecked
from participants.mail import leader_name
from participants.models import Participant
from trips.form_fields import LocalMomentField, RowsField
from trips.models import Absence, Pairing, Place, PlaceState, Session, Trip
from trips.selectors.person import people_elsewhere, trip_zone


class PlaceChoiceField(forms.ModelChoiceField):
    """A choice among places, by the names of their people."""

    def label_from_instance(self, obj: Any) -> str:
        return str(obj.participant.name)


class PersonForm(PhonesChecked, forms.ModelForm):
    """Who somebody is and how they are reached."""

    class Meta:
        model = Participant
        fields = ["name", "email", "phone", "language", "units", "on_paper"]
        labels = {"email": "E-mail (may stay empty)", "units": "Lengths and temperatures in"}
        widgets = {"phone": forms.TextInput({"type": "tel"})}
        help_texts = {
            "email": "Without it, hand over a sign-in link yourself, or print everything.",
            "on_paper": "Everything this person could type, you type for them; changes are ticked as told.",
        }

    def __init__(self, *args: Any, asker: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        person = self.instance
        if person.pk and person.leader != asker:  # a sign-in link goes there, and opens the person's other trips
            self.fields["email"].disabled = True
            told = f"Only {leader_name(person)} changes this: sign-in links go there."
            self.fields["email"].help_text = told


class PlaceForm(forms.ModelForm):
    """A person's place on the trip: state, when they are there, whom they help."""

    arrives_at = LocalMomentField(required=False, label="Arrives")
    leaves_at = LocalMomentField(required=False, label="Leaves")

    class Meta:
        model = Place
        fields = ["state", "arrives_at", "leaves_at", "photographs", "helps", "gear_ready"]
        field_classes = {"helps": PlaceChoiceField}
        labels = {
            "photographs": "Takes pictures",
            "helps": "Helps (sits beside)",
            "gear_ready": "Gear is seen and ready",
        }
        help_texts = {"photographs": "A guest without a camera takes spare seats only and needs no gear."}

    def __init__(self, *args: Any, trip: Trip, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.trip = trip
        zone = trip_zone(trip)
        for name in ("arrives_at", "leaves_at"):
            field: Any = self.fields[name]
            field.time_zone = zone
            field.help_text = f"Clock time in {zone}; empty: there all the time."
        helps: Any = self.fields["helps"]
        helps.queryset = trip.places.exclude(pk=self.instance.pk).select_related("participant")
        helps.empty_label = "nobody"


class PersonNewForm(PersonForm):
    """A new person and the state of their place."""

    state = forms.ChoiceField(choices=PlaceState, initial=PlaceState.INVITED, label="Place on the trip")


class PersonAddForm(forms.Form):
    """Somebody the leader knows from another trip."""

    participant = forms.ModelChoiceField(Participant.objects.none(), label="Somebody you know", empty_label="choose")

    def __init__(self, *args: Any, trip: Trip, asker: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["participant"]
        field.queryset = people_elsewhere(asker, trip)


class PairingForm(forms.ModelForm):
    """Two people together or apart. Leaders only."""

    class Meta:
        model = Pairing
        fields = ["first", "kind", "second"]
        field_classes = {"first": PlaceChoiceField, "second": PlaceChoiceField}
        labels = {"first": "Who", "kind": "How", "second": "With whom"}

    def __init__(self, *args: Any, trip: Trip, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.trip = trip
        for name in ("first", "second"):
            field: Any = self.fields[name]
            field.queryset = trip.places.select_related("participant")

    def clean(self) -> dict[str, Any]:
        """Two different people."""
        cleaned = super().clean() or {}
        first, second = cleaned.get("first"), cleaned.get("second")
        if first and second and first == second:
            self.add_error("second", "A pairing is between two different people.")
        return cleaned


SESSION_GONE = "One of these sessions is gone; look at the list again."


class AbsencesForm(forms.Form):
    """The sessions that somebody is not there for."""

    sessions = RowsField(
        Session.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Not there for",
        error_messages={"invalid_choice": SESSION_GONE, "invalid_pk_value": SESSION_GONE},
    )

    def __init__(self, *args: Any, place: Place, **kwargs: Any) -> None:
        absent = Absence.objects.filter(place=place).values_list("session_id", flat=True)
        kwargs.setdefault("initial", {"sessions": sorted(absent)})
        super().__init__(*args, **kwargs)
        field: Any = self.fields["sessions"]
        field.queryset = place.trip.sessions.all()
