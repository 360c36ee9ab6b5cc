"""Forms of a trip itself and of its rules."""

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Fieldset, Layout
from django import forms

from participants.form_fields import PhonesChecked, hold_between, keep_stored, number_field
from participants.models import LeaderDetails
from trips.core.rota.problem.values import LIMITS
from trips.documents.wording import rota_limits
from trips.documents.wording.rota_names import listed
from trips.form_fields import RowsField
from trips.forms.trip_days import in_years_of_the_sun
from trips.models import Site, Trip, TripRules
from trips.selectors.my_wishes import reader_name
from trips.selectors.trip import Asker, leaders_named, sites_to_plan

HELP = {
    **rota_limits.HELP,
    "never_twice_running": "Nobody sits in the same hide in two sessions in a row.",
    "leader_policy": "No seat: the leader never sits. Spare seats only: the leader takes a seat that nobody else needs "
    "or would gain more from. Beside people in turn: the leader takes any free seat, with somebody else each time.",
    "want_mixing": "Everybody should share a hide with everybody else at least once.",
    "tolerance": "The planner keeps wishes in order: the lowest fair share first, hardships and company later. "
    "With 0.01, all later wishes may cost one per cent of the first. A larger number spreads hardships more evenly.",
    "light_dial": "0: the animals alone decide; 1: the light alone decides; 0.5 weighs both.",
    "set_up_min": "Minutes between reaching the seat and being ready.",
    "settle_min": "Minutes that people are ready before the session starts, where the hide has no rule of its own.",
    "stop_min": "Minutes that each drop of a car takes.",
    "pick_up_window_min": "How long the car's pick-up window is.",
    "later_untold_min": "If a car leaves later by no more than this, nobody gets a mail. Pages show the new time "
    "at once. 0: every change is mailed.",
    "hand_over_min": "After how many minutes two people who share a seat change over.",
    "overdue_min": "Minutes after the latest pick-up until somebody who is not back is overdue. Then every page of a "
    "leader says so in red.",
    "overdue_mail_min": "Minutes after the latest pick-up until the co-leaders get one mail for each hide.",
    "hardship_walk_m": "A longer walk counts as a hardship. The planner spreads hardships.",
    "heat_limit_c": "In warmer air Fairhide proposes a later start. The session is a hardship. Empty: no limit.",
}
RULE_FIELDS = list(HELP)
RULE_LABELS = {
    **rota_limits.LABELS,
    "never_twice_running": "Never the same hide twice running",
    "leader_policy": "The leader's seat",
    "want_mixing": "Everybody meets everybody",
    "tolerance": "How much a later wish may cost an earlier one",
    "light_dial": "Animals first … light first",
    "set_up_min": "Setting up (min)",
    "settle_min": "Settling down (min)",
    "stop_min": "A drop of the car (min)",
    "pick_up_window_min": "Pick-up window (min)",
    "later_untold_min": "Leaving later without a mail, up to (min)",
    "hand_over_min": "Hand-over of a shared seat after (min)",
    "overdue_min": "Overdue after (min)",
    "overdue_mail_min": "Mail to the co-leaders after (min)",
    "hardship_walk_m": "A walk is a hardship above (m)",
    "heat_limit_c": "Heat limit (°C)",
}
RULE_BOUNDS: dict[str, tuple[float, float]] = {
    **dict.fromkeys(LIMITS, (1, 200)),
    "tolerance": (0, 0.2),
    "light_dial": (0, 1),
    "set_up_min": (0, 240),
    "settle_min": (0, 240),
    "stop_min": (0, 240),
    "pick_up_window_min": (0, 240),
    "later_untold_min": (0, 60),
    "hand_over_min": (1, 720),
    "overdue_min": (0, 240),
    "overdue_mail_min": (0, 480),
    "hardship_walk_m": (0, 20_000),
    "heat_limit_c": (-20, 60),
}


class TripForm(forms.ModelForm):
    """A trip: its name, days, sites and units; who else leads it is for its own leader to say."""

    co_leaders = forms.CharField(
        required=False,
        max_length=2000,
        label="Co-leaders",
        help_text="The names they sign in with, with commas between them. They see and change everything of this trip, "
        "its people's health notes too.",
    )

    class Meta:
        model = Trip
        fields = ["name", "starts_on", "ends_on", "sites", "units"]
        field_classes = {"sites": RowsField}
        labels = {"starts_on": "First day", "ends_on": "Last day", "units": "Lengths and temperatures in"}
        widgets = {
            "starts_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "ends_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "sites": forms.CheckboxSelectMultiple,
        }

    def __init__(self, *args: Any, asker: Asker, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        sites: Any = self.fields["sites"]
        sites.queryset = sites_to_plan(asker, self.instance if self.instance.pk else None)
        if not sites.queryset.exists():
            sites.help_text = "You have no site yet; the trip can be saved without one."
        for name in ("starts_on", "ends_on"):
            self.fields[name].validators.append(in_years_of_the_sun)
        self.leader = self.instance.leader if self.instance.pk else asker
        self._co_leaders_for(asker)

    def _co_leaders_for(self, asker: Asker) -> None:
        field = self.fields["co_leaders"]
        if self.instance.pk:
            field.initial = ", ".join(user.get_username() for user in self.instance.co_leaders.order_by("username"))
        if self.leader != asker:
            leader = reader_name(self.leader)
            sites = f"If you tick a site of yours, {leader} may plan there, on other trips too."
            self.fields["sites"].help_text = sites
            field.disabled = True
            field.help_text = f"Only {leader}, who leads this trip, changes this."

    def clean_co_leaders(self) -> list[Any]:
        """The leaders of those names."""
        if self.fields["co_leaders"].disabled:
            return list(self.instance.co_leaders.all())
        names = dict.fromkeys(self.cleaned_data["co_leaders"].replace(",", " ").split())
        found = leaders_named(names)
        unknown = [name for name in names if name not in found]
        if unknown:
            raise forms.ValidationError(f"Nobody signs in as {listed(unknown, 'or')}.")
        if self.leader in found.values():
            raise forms.ValidationError(f"{self.leader.get_username()} leads the trip already; name others.")
        return list(found.values())

    @property
    def related(self) -> dict[str, list[Any]]:
        """The trip's rows of other tables: its sites and its co-leaders."""
        return {name: list(self.cleaned_data[name]) for name in ("sites", "co_leaders")}

    def clean_sites(self) -> Any:
        """A site that the trip's sessions use stays."""
        chosen = self.cleaned_data["sites"]
        if self.instance.pk:
            used = Site.objects.filter(sessions__trip=self.instance).exclude(pk__in=[site.pk for site in chosen])
            names = sorted(set(used.values_list("name", flat=True)))
            if names:
                raise forms.ValidationError(f"{', '.join(names)} has sessions on this trip; delete those first.")
        return chosen


class LeaderForm(PhonesChecked, forms.ModelForm):
    """How a leader is reached. It asks for the password where the address changes, to which new passwords are sent."""

    email = forms.EmailField(
        required=False,
        max_length=254,
        label="E-mail",
        help_text="Mails go there when your own seat changes, and a link when you lost your password. Participants "
        "never see it.",
    )
    password = forms.CharField(
        required=False,
        strip=False,
        label="Your password, where you change the e-mail",
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
    )

    class Meta:
        model = LeaderDetails
        fields = ["phone"]
        help_texts = {
            "phone": "With the country's code. People on your trips get it on pages, briefings and door cards; "
            "the owner's sheet has it too."
        }
        widgets = {"phone": forms.TextInput({"type": "tel", "autocomplete": "tel"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["email"] = self.instance.leader.email
        self.helper = FormHelper()
        self.helper.form_tag = False

    def clean(self) -> dict[str, Any]:
        """Another address only with the leader's own password."""
        cleaned = super().clean() or self.cleaned_data
        changes = "email" in self.changed_data and "email" in cleaned
        if changes and not self.instance.leader.check_password(cleaned.get("password", "")):
            self.add_error("password", "Type your password. Anyone with this e-mail address can reset it.")
        return cleaned


class RulesForm(forms.ModelForm):
    """The rules in plain words, each with what it changes."""

    class Meta:
        model = TripRules
        formfield_callback = number_field
        fields = RULE_FIELDS
        help_texts = HELP
        labels = RULE_LABELS

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, (low, high) in RULE_BOUNDS.items():
            hold_between(self.fields[name], low, high)
        keep_stored(self)
        self.helper = FormHelper()
        self.helper.form_tag = False
        on_the_way, hardships = RULE_FIELDS.index("set_up_min"), RULE_FIELDS.index("hardship_walk_m")
        self.helper.layout = Layout(
            Fieldset("Fairness", *RULE_FIELDS[:on_the_way]),
            Fieldset("On the way", Div(*RULE_FIELDS[on_the_way:hardships])),
            Fieldset("Hardships and heat", *RULE_FIELDS[hardships:]),
        )
