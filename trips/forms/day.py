"""Forms of the day: cars, the owner's say of each hide, the cars' runs, and ticks of who is out and back."""

from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from django import forms
from django.forms import inlineformset_factory

from participants.core.isolation import isolated
from trips.core.session_rules import LONGEST_H
from trips.documents.wording.sessions import session_hours
from trips.form_fields import LocalMomentField, NamedLines
from trips.models import Car, Hide, HideState, Run, Session, SessionHide, Trip
from trips.selectors.session import local_hours
from trips.services.day import PlannedStop

REASONS = (
    "let to others",
    "rest day of the hide",
    "farm work",
    "hunting",
    "outside the licence's dates",
    "track closed",
)
REASONS_ID = "reasons"
BY_DRIVE_TIME = "by drive time, in the first car"


class CarForm(forms.ModelForm):
    """One car."""

    seen_version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = Car
        fields = ["name", "plate", "seats", "driver"]
        labels = {"seats": "Seats beside the driver's", "plate": "Number plate"}
        help_texts = {
            "plate": "On the owner's sheet.",
            "seats": "More people than this in its round are warned of.",
            "driver": "Who drives, where that is settled.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["seen_version"].initial = self.instance.version if self.instance.pk else None

    def full_clean(self) -> None:
        """A new line without a name is not used; the usual number of seats alone makes no car."""
        self.empty_permitted = not self.instance.pk and not self.data.get(self.add_prefix("name"), "").strip()
        super().full_clean()

    def has_changed(self) -> bool:
        """A new line counts once it has a name."""
        return bool(self.instance.pk) or bool(self.data.get(self.add_prefix("name"), "").strip())


class BaseCars(NamedLines):
    """The cars of a trip, with two lines for new ones."""

    def get_queryset(self) -> Any:
        if not hasattr(self, "_ordered"):
            self._ordered = super().get_queryset().order_by("name", "uuid")
        return self._ordered  # one and the same, so that its rows are asked for once

    @property
    def changed(self) -> list[tuple[Car, int | None]]:
        """Cars to save, each with the version that the form saw."""
        kept = [form for form in self.forms if form.has_changed() and form not in self.deleted_forms]
        return [(form.save(commit=False), form.cleaned_data.get("seen_version")) for form in kept]

    @property
    def deleted(self) -> list[Car]:
        """Cars to take away."""
        return [form.instance for form in self.deleted_forms if form.instance.pk]


CarFormSet = inlineformset_factory(Trip, Car, form=CarForm, formset=BaseCars, extra=2, max_num=20, can_delete=True)


class OwnerForm(forms.ModelForm):
    """What the owner says of one hide in one session."""

    starts_at = LocalMomentField(required=False, label="Own start")
    ends_at = LocalMomentField(required=False, label="Own end")
    seen_version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = SessionHide
        fields = ["state", "notice_h", "reason", "starts_at", "ends_at", "shares_seat"]
        labels = {"state": "The owner says", "notice_h": "Hours of notice", "shares_seat": "Two people share one seat"}
        widgets = {"reason": forms.TextInput({"list": REASONS_ID})}
        help_texts = {
            "notice_h": "Only where the owner needs notice; a rota uses the hide while that much time is left.",
            "reason": "Needed where it is unavailable; people read it on the rota.",
        }

    def __init__(self, *args: Any, session: Session, hide: Hide, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs | {"prefix": f"hide-{hide.uuid}"})
        self.instance.session, self.instance.hide = session, hide
        for name in ("starts_at", "ends_at"):
            field: Any = self.fields[name]
            field.time_zone = session.site.time_zone
        self.fields["seen_version"].initial = self.instance.version if self.instance.pk else 0

    @property
    def has_own_hours(self) -> bool:
        """Whether the hide's hours differ from the session's, or are wrong."""
        wrong = self.is_bound and ("starts_at" in self.errors or "ends_at" in self.errors)
        return bool(self.instance.starts_at or self.instance.ends_at or wrong)

    def clean(self) -> dict[str, Any]:
        """Who says no says why; notice is of hides that need it."""
        cleaned = super().clean() or {}
        if cleaned.get("state") == HideState.UNAVAILABLE and not cleaned.get("reason"):
            self.add_error("reason", "Say why, so that people and the next leader understand.")
        if cleaned.get("state") == HideState.NOTICE and cleaned.get("notice_h") is None:
            self.add_error("notice_h", "Say how many hours of notice the owner needs.")
        self._hold_hours(cleaned)
        return cleaned

    def _hold_hours(self, cleaned: dict[str, Any]) -> None:
        """Own hours are some of the session's, and may begin before it or go on after it."""
        session = self.instance.session
        starts_at = cleaned.get("starts_at") or session.starts_at
        ends_at = cleaned.get("ends_at") or session.ends_at
        hours = f"the session is {session_hours(*local_hours(session))}"
        if starts_at >= session.ends_at:
            self.add_error("starts_at", f"People cannot sit there at all then: {hours}.")
        elif ends_at <= session.starts_at:
            self.add_error("ends_at", f"People cannot sit there at all then: {hours}.")
        elif ends_at - starts_at > timedelta(hours=LONGEST_H):
            self.add_error("ends_at", f"Own hours last {LONGEST_H:g} hours at most; {hours}.")


def owner_forms(session: Session, hides: Iterable[Hide], data: Any = None) -> list[OwnerForm]:
    """A form for each hide of the session's site."""
    says = {say.hide_id: say for say in session.session_hides.all()}
    return [OwnerForm(data, session=session, hide=hide, instance=says.get(hide.pk)) for hide in hides]


class StopForm(forms.Form):
    """Which car brings people to a hide in a session, as which drop."""

    car = forms.ModelChoiceField(Car.objects.none(), required=False, empty_label=BY_DRIVE_TIME)
    position = forms.IntegerField(
        required=False, min_value=1, max_value=30, label="Drop", help_text="1 gets out first."
    )
    leg_min = forms.FloatField(
        required=False, min_value=0, max_value=240, label="Minutes the drop takes", help_text="Empty: as the rules say."
    )

    def __init__(self, *args: Any, hide: Hide, cars: list[Car], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs | {"prefix": f"stop-{hide.uuid}"})
        self.hide = hide
        field: Any = self.fields["car"]
        field.queryset = Car.objects.filter(pk__in=[car.pk for car in cars])
        field.choices = [("", BY_DRIVE_TIME), *((car.pk, f"{isolated(car.name)} ({car.seats} seats)") for car in cars)]


class RunsForm(forms.Form):
    """What goes for all stops of a session."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)
    later = forms.BooleanField(required=False, label="Use these rounds for all later sessions too")


class StopForms:
    """The stops of all hides of a session as one form."""

    def __init__(self, session: Session, hides: Iterable[Hide], cars: list[Car], data: Any = None) -> None:
        stops: dict[int, tuple[Any, int, float | None]] = {}
        for run in Run.objects.filter(session=session).prefetch_related("stops"):
            stops |= {stop.hide_id: (run.car_id, stop.position, stop.leg_min) for stop in run.stops.all()}
        self.forms = []
        for hide in hides:
            initial = dict(zip(("car", "position", "leg_min"), stops.get(hide.pk, ("", None, None)), strict=True))
            self.forms.append(StopForm(data, hide=hide, cars=cars, initial=initial))

    def is_valid(self) -> bool:
        """Whether each stop is right, and no two of a car have the same place in its order."""
        if not all(form.is_valid() for form in self.forms):
            return False
        seen: dict[tuple[int, int], StopForm] = {}
        for form in self.forms:
            car, position = form.cleaned_data["car"], form.cleaned_data["position"]
            if car and position and seen.setdefault((car.pk, position), form) is not form:
                other = seen[(car.pk, position)].hide.name
                form.add_error("position", f"{other} is this car's drop {position} already.")
        return all(form.is_valid() for form in self.forms)

    @property
    def stops(self) -> list[PlannedStop]:
        """The stops, those without a number after the numbered ones, by drive time."""
        found: list[PlannedStop] = []
        for form in sorted(self.forms, key=lambda form: (form.hide.drive_min, form.hide.name)):
            cleaned = form.cleaned_data
            if cleaned["car"]:
                position = cleaned["position"] or 100 + len(found)
                found.append(PlannedStop(form.hide, cleaned["car"], position, cleaned["leg_min"]))
        return found


PERSON = "(place-[0-9a-f-]{36}|leader-[0-9]{1,18})"


class TickForm(forms.Form):
    """Who is ticked, and what. `who`: one person, or several with spaces between them."""

    who = forms.RegexField(rf"^{PERSON}( {PERSON})*$", max_length=4000)
    what = forms.ChoiceField(choices=[(what, what) for what in ("out", "back", "undo")])

    def clean_who(self) -> list[str]:
        """The keys of the people."""
        return str(self.cleaned_data["who"]).split()


class DayForm(forms.Form):
    """Which day is shown."""

    day = forms.DateField(required=False)
