"""Forms of cars and of their runs: who drives, and which car drops people where."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.forms import inlineformset_factory

from participants.core.isolation import isolated
from participants.form_fields import NumberField, keep_stored, number_field
from trips.form_fields import NamedLines
from trips.models import Car, Hide, Run, Session, Trip
from trips.selectors.day import Driver, drivers_of
from trips.services.day import PlannedStop

BY_DRIVE_TIME = "by drive time, in the first car"
RUNS_OF_A_CAR = (1, 2)
ONE_DRIVER = "Choose a name or type one, not both."


class DriverForm(forms.Form):
    """Who drives: somebody of the trip, or anybody else by name."""

    who = forms.ChoiceField(required=False, label="Driver")
    driver = forms.CharField(
        required=False, max_length=120, label="Somebody else", help_text="A name, for who is not on the trip."
    )

    def drivers_are(self, drivers: dict[str, Driver], nobody: str, now: str) -> None:
        """Offer these people; `nobody`: what the empty choice means, `now`: the key of who drives."""
        self.drivers = drivers
        field = self.fields["who"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", nobody), *((key, isolated(driver.name)) for key, driver in drivers.items())]
        self.initial["who"] = now if now in drivers else ""

    def clean(self) -> dict[str, Any]:
        """One of the two."""
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("who") and cleaned.get("driver"):
            self.add_error("driver", ONE_DRIVER)
        return cleaned

    @property
    def columns(self) -> dict[str, Any]:
        """The driver as the columns of a row."""
        who = self.drivers.get(self.cleaned_data.get("who", ""))
        named = {"driver_place_id": who.place, "driver_leader_id": who.leader} if who else {}
        empty = {"driver_place_id": None, "driver_leader_id": None}
        return empty | named | {"driver": self.cleaned_data.get("driver", "")}


class CarForm(DriverForm, forms.ModelForm):
    """One car."""

    seen_version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = Car
        formfield_callback = number_field
        fields = ["name", "plate", "seats"]
        labels = {"seats": "Seats beside the driver's", "plate": "Number plate"}
        help_texts = {
            "plate": "On the owner's sheet.",
            "seats": "More people than this in its round are warned of.",
        }

    field_order = ["name", "plate", "seats", "who", "driver"]

    def __init__(self, *args: Any, drivers: dict[str, Driver], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        keep_stored(self)
        self.fields["seen_version"].initial = self.instance.version if self.instance.pk else None
        self.initial["driver"] = self.instance.driver
        self.drivers_are(drivers, "not settled", self.instance.driver_key)
        self.fields["who"].help_text = "Who drives this car, unless a run names another driver."

    def full_clean(self) -> None:
        """A new line without a name is not used; the usual number of seats alone makes no car."""
        self.empty_permitted = not self.instance.pk and not self.data.get(self.add_prefix("name"), "").strip()
        super().full_clean()

    def clean(self) -> dict[str, Any]:
        """The driver on the row."""
        cleaned = super().clean()
        for column, value in self.columns.items() if not self.errors else ():
            setattr(self.instance, column, value)
        return cleaned

    def has_changed(self) -> bool:
        """Whether a car is not as stored; a new line counts once it has a name."""
        if self.instance.pk:
            return bool({*self.changed_data} - {"seen_version"})
        return bool(self.data.get(self.add_prefix("name"), "").strip())


class BaseCars(NamedLines):
    """The cars of a trip, with two lines for new ones."""

    def get_queryset(self) -> Any:
        if not hasattr(self, "_ordered"):
            self._ordered = super().get_queryset().select_related("driver_place").order_by("name", "uuid")
        return self._ordered  # one and the same, so that its rows are asked for once

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        trip = kwargs["instance"]
        super().__init__(*args, form_kwargs={"drivers": drivers_of(trip)}, **kwargs)

    @property
    def changed(self) -> list[tuple[Car, int | None]]:
        """Cars to save, each with the version that the form saw."""
        kept = [form for form in self.forms if form.has_changed() and form not in self.deleted_forms]
        return [(form.save(commit=False), form.cleaned_data.get("seen_version")) for form in kept]

    @property
    def deleted(self) -> list[Car]:
        """Cars to take away."""
        return [form.instance for form in self.deleted_forms if form.instance.pk]


CarFormSet = inlineformset_factory(
    Trip, Car, form=CarForm, formset=BaseCars, extra=2, max_num=20, absolute_max=21, can_delete=True
)


class RunDriverForm(DriverForm):
    """Who drives one run of a car, where it is not the car's own driver."""

    def __init__(
        self, *args: Any, car: Car, number: int, drivers: dict[str, Driver], run: Run | None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs | {"prefix": f"driver-{car.pk}-{number}"})
        self.car, self.number = car, number
        usual = car.driver_name
        self.initial["driver"] = run.driver if run else ""
        self.drivers_are(
            drivers, f"as usual: {isolated(usual)}" if usual else "not settled", run.driver_key if run else ""
        )


class StopForm(forms.Form):
    """Which run of which car brings people to a hide in a session, as which drop."""

    car = forms.ChoiceField(required=False)
    position = NumberField(
        whole=True, required=False, min_value=1, max_value=30, label="Drop", help_text="1 gets out first."
    )
    leg_min = NumberField(
        required=False,
        min_value=0,
        max_value=240,
        label="Minutes the drop takes",
        help_text="Empty: as the rules say. More where the next hide lies another way.",
    )

    def __init__(self, *args: Any, hide: Hide, runs: dict[str, tuple[Car, int]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs | {"prefix": f"stop-{hide.uuid}"})
        keep_stored(self)
        self.hide, self.runs = hide, runs
        field = self.fields["car"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", BY_DRIVE_TIME), *((key, _run_words(car, number)) for key, (car, number) in runs.items())]

    @property
    def run(self) -> tuple[Car, int] | None:
        """The car and the number of its run."""
        return self.runs.get(self.cleaned_data["car"])


def _run_words(car: Car, number: int) -> str:
    more = f"run {number}" if number > 1 else f"{car.seats} seats"
    return f"{isolated(car.name)} ({more})"


class RunsForm(forms.Form):
    """What goes for all stops of a session."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)
    later = forms.BooleanField(required=False, label="Use these rounds for all later sessions too")


class StopForms:
    """The stops of all hides of a session, and who drives each run, as one form."""

    def __init__(self, session: Session, hides: Iterable[Hide], cars: list[Car], data: Any = None) -> None:
        stops: dict[int, tuple[str, int, float | None]] = {}
        made: dict[tuple[int, int], Run] = {}
        for run in Run.objects.filter(session=session).select_related("driver_place").prefetch_related("stops"):
            made[run.car_id, run.number] = run
            key = run_key(run.car_id, run.number)
            stops |= {stop.hide_id: (key, stop.position, stop.leg_min) for stop in run.stops.all()}
        runs = {run_key(car.pk, number): (car, number) for car in cars for number in RUNS_OF_A_CAR}
        self.forms = []
        for hide in hides:
            initial = dict(zip(("car", "position", "leg_min"), stops.get(hide.pk, ("", None, None)), strict=True))
            self.forms.append(StopForm(data, hide=hide, runs=runs, initial=initial))
        people = drivers_of(session.trip)
        self.drivers = [
            RunDriverForm(data, car=car, number=number, drivers=people, run=made.get((car.pk, number)))
            for car, number in runs.values()
        ]

    def is_valid(self) -> bool:
        """Whether each stop is right, and no two of a run have the same place in its order."""
        if sum(not form.is_valid() for form in (*self.forms, *self.drivers)):
            return False
        seen: dict[tuple[str, int], StopForm] = {}
        for form in self.forms:
            run, position = form.cleaned_data["car"], form.cleaned_data["position"]
            if run and position and seen.setdefault((run, position), form) is not form:
                other = seen[run, position].hide.name
                form.add_error("position", f"{other} is this car's drop {position} already.")
        return all(form.is_valid() for form in self.forms)

    @property
    def stops(self) -> list[PlannedStop]:
        """The stops, those without a number after the numbered ones, by drive time."""
        found: list[PlannedStop] = []
        for form in sorted(self.forms, key=lambda form: (form.hide.drive_min, form.hide.name)):
            if form.run:
                car, number = form.run
                position = form.cleaned_data["position"] or 100 + len(found)
                found.append(PlannedStop(form.hide, car, position, form.cleaned_data["leg_min"], number))
        return found

    @property
    def driver_columns(self) -> dict[tuple[int, int], dict[str, Any]]:
        """Who drives, by car row id and number of the run."""
        return {(form.car.pk, form.number): form.columns for form in self.drivers}


def run_key(car: int, number: int) -> str:
    """How the form names a run: the car alone for its first."""
    return str(car) if number == 1 else f"{car}-{number}"
