"""Forms that make sessions from rules, and that edit one."""

from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from participants.form_fields import NumberField, keep_stored, number_field, offer_minus
from trips.core.session_rules import LONGEST_H, SessionRule
from trips.form_fields import LocalMomentField, OwnedForm
from trips.forms.trip_days import in_trip, trip_lasts
from trips.models import Session, Site, Trip
from trips.models.session import KINDS
from trips.selectors.trip import sites_for_sessions

LONGEST_DAYS = 60
ANCHORS = [
    ("start sunrise", "starts … min from sunrise"),
    ("end sunrise", "ends … min from sunrise"),
    ("start sunset", "starts … min from sunset"),
    ("end sunset", "ends … min from sunset"),
    ("start clock", "starts at a clock time"),
    ("end clock", "ends at a clock time"),
]


class DaysForm(forms.Form):
    """For which site and days sessions are made."""

    site = forms.ModelChoiceField(Site.objects.none(), empty_label=None)
    first_day = forms.DateField(widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    last_day = forms.DateField(widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))

    def __init__(self, *args: Any, trip: Trip, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {"first_day": trip.starts_on, "last_day": trip.ends_on})
        super().__init__(*args, **kwargs)
        site: Any = self.fields["site"]
        site.queryset = sites_for_sessions(trip)
        self.trip = trip

    def clean(self) -> dict[str, Any]:
        """Days of the trip; the last is not before the first."""
        cleaned = super().clean() or {}
        first, last = cleaned.get("first_day"), cleaned.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", "The last day is before the first.")
        elif first and last and last - first > timedelta(days=LONGEST_DAYS):
            self.add_error("last_day", f"Sessions are made for at most {LONGEST_DAYS} days at once.")
        else:
            for name in ("first_day", "last_day"):
                if cleaned.get(name) and not in_trip(self.trip, cleaned[name]):
                    self.add_error(name, trip_lasts(self.trip))
        return cleaned

    @property
    def days(self) -> tuple[date, ...]:
        """All days from the first to the last."""
        first, last = self.cleaned_data["first_day"], self.cleaned_data["last_day"]
        return tuple(first + timedelta(days=number) for number in range((last - first).days + 1))


class RuleForm(forms.Form):
    """One rule; `use` unticked: not made."""

    use = forms.BooleanField(required=False, label="Make these")
    kind = forms.ChoiceField(choices=KINDS)
    anchor = forms.ChoiceField(choices=ANCHORS, label="When")
    offset_min = NumberField(required=False, min_value=-600, max_value=600, label="Minutes", initial=0)
    clock = forms.TimeField(required=False, widget=forms.TimeInput({"type": "time"}), label="Clock time")
    hours = NumberField(min_value=0.25, max_value=LONGEST_H, label="Hours long", initial=4)

    def clean(self) -> dict[str, Any]:
        """A rule by the clock needs a clock time."""
        cleaned = super().clean() or {}
        if cleaned.get("use") and cleaned.get("anchor", "").endswith("clock") and not cleaned.get("clock"):
            self.add_error("clock", "Give the clock time that this rule goes by.")
        return cleaned

    @property
    def rule(self) -> SessionRule:
        """The rule as a value."""
        edge, anchor = self.cleaned_data["anchor"].split()
        return SessionRule(
            kind=self.cleaned_data["kind"],
            edge=edge,
            anchor=anchor,
            offset_min=0.0 if anchor == "clock" else self.cleaned_data["offset_min"] or 0.0,
            clock=self.cleaned_data["clock"],
            hours=self.cleaned_data["hours"],
        )


RULE_DEFAULTS: list[dict[str, Any]] = [
    {"use": True, "kind": "early", "anchor": "start sunrise", "offset_min": -30, "hours": 4},
    {"use": True, "kind": "late", "anchor": "end sunset", "offset_min": 20, "hours": 4},
    {"use": False, "kind": "midday", "anchor": "start clock", "clock": "12:00", "hours": 3},
    {"use": False, "kind": "night", "anchor": "start sunset", "offset_min": 60, "hours": 4},
]
RuleFormSet = forms.formset_factory(RuleForm, extra=0, max_num=8, absolute_max=9)


class ChosenForm(forms.Form):
    """Which of the proposed sessions are saved, by their number."""

    chosen = forms.MultipleChoiceField(
        error_messages={
            "required": "Tick at least one of the sessions to save.",
            "invalid_choice": "The rules make other sessions now: tick again what is to be saved.",
        }
    )

    def __init__(self, *args: Any, count: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["chosen"]
        field.choices = [(str(number), str(number)) for number in range(count)]

    @property
    def ticked(self) -> list[int]:
        """The numbers of those ticked; none where the form is wrong."""
        return [int(number) for number in self.cleaned_data["chosen"]] if self.is_valid() else []


class SessionForm(OwnedForm):
    """One session, its times as clocks at the site show them."""

    owner = "trip"
    starts_at = LocalMomentField(label="Starts")
    ends_at = LocalMomentField(label="Ends")

    class Meta:
        model = Session
        formfield_callback = number_field
        fields = [
            "site",
            "name",
            "kind",
            "starts_at",
            "ends_at",
            "sky",
            "wind_from_deg",
            "heat_limit_c",
            "rests_allowed",
        ]
        labels = {
            "wind_from_deg": "Wind from (° true)",
            "heat_limit_c": "Heat limit of this session (°C)",
            "rests_allowed": "How many people may rest",
            "sky": "Sky expected",
        }
        help_texts = {
            "name": "Empty: the day and the kind.",
            "wind_from_deg": "Only needed for hides where scent matters.",
            "heat_limit_c": "Empty: the trip's limit.",
        }

    def __init__(self, *args: Any, trip: Trip, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        keep_stored(self)
        offer_minus(self.fields["heat_limit_c"])
        self.instance.trip = self.trip = trip
        site: Any = self.fields["site"]
        kept = self.instance.site if self.instance.pk else None
        site.queryset = sites_for_sessions(trip, kept=kept)
        site.empty_label = None
        zone = self._zone()
        for name in ("starts_at", "ends_at"):
            field: Any = self.fields[name]
            field.time_zone = zone
            field.help_text = f"Clock time in {zone}"

    def _zone(self) -> str:
        """The zone of the site chosen in the form, else of the session's, else of the trip's first."""
        sites = {str(site.pk): site for site in self.trip.sites.all()}
        chosen = sites.get(str(self.data.get(self.add_prefix("site"), "")))
        site = chosen or (self.instance.site if self.instance.pk else next(iter(sites.values()), None))
        return site.time_zone if site else "UTC"

    def clean(self) -> dict[str, Any]:
        """A session starts on a day of the trip and lasts a day at most; one that stood outside already may stay."""
        cleaned = super().clean() or {}
        starts_at, ends_at = cleaned.get("starts_at"), cleaned.get("ends_at")
        if starts_at and "starts_at" in self.changed_data:
            day = starts_at.astimezone(ZoneInfo(self._zone())).date()
            if not in_trip(self.trip, day):
                self.add_error("starts_at", trip_lasts(self.trip))
        if starts_at and ends_at and ends_at - starts_at > timedelta(hours=LONGEST_H):
            self.add_error("ends_at", f"A session lasts {LONGEST_H:g} hours at most.")
        return cleaned
