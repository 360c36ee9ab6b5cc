"""What a participant types of a trip: wishes, details, a health note."""

from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Fieldset, Layout
from django import forms
from django.utils.translation import gettext_lazy as _

from participants.core.language import gettext, named
from participants.form_fields import UNIT_M, LengthField, NumberField, PhonesChecked, keep_stored
from participants.models import HealthNote, Participant
from trips.core.local_time import ClockTimeMissing, ClockTimeTwice, moment_from_local
from trips.form_fields import RowsField
from trips.forms.person import PlaceChoiceField
from trips.models import ON_TRIP, Hide, Message, Place, Session, Subject
from trips.models.place import HARDEST_ENTRIES, LIGHT_WISHES, OUTPUTS, VOTES_IN_ALL, PairingKind
from trips.selectors.species import names_of

VOTES = [(number, str(number) if number else _("none")) for number in range(VOTES_IN_ALL + 1)]
LONGEST_HOURS, LONGEST_WALK_M = 24, 100_000
READ_ANEW = _("Open your days again and press it there.")


class WishesForm(forms.Form):
    """Six votes to spend, hides to go back to, the light, what the pictures are for, and company (confidential)."""

    light_wish = forms.ChoiceField(
        label=_("The light I like"), choices=[("", _("no matter: front light")), *LIGHT_WISHES], required=False
    )
    output = forms.ChoiceField(label=_("My pictures are for"), choices=OUTPUTS)
    again = RowsField(
        Hide.objects.none(), label=_("I want to go back to"), required=False, widget=forms.CheckboxSelectMultiple
    )
    company_with = PlaceChoiceField(
        Place.objects.none(), label=_("Person"), required=False, empty_label=_("nobody in particular")
    )
    company_how = forms.ChoiceField(label=_("How"), choices=[("", _("no wish")), *PairingKind.choices], required=False)

    def __init__(self, *args: Any, place: Place, subjects: list[Subject], hides: Any, **kwargs: Any) -> None:
        self.subjects = subjects
        given = {wish.subject_id: wish.votes for wish in place.wishes.all()}
        kwargs["initial"] = {
            "light_wish": place.light_wish,
            "output": place.output,
            "again": [again.hide_id for again in place.agains.all()],
            **{self.votes_name(subject): given[subject.pk] for subject in subjects if subject.pk in given},
        }
        super().__init__(*args, **kwargs)
        for subject in subjects:
            field = forms.TypedChoiceField(
                label=named(subject.name, names_of(subject)),
                choices=VOTES,
                coerce=int,
                empty_value=None,
                required=False,
                initial=0,
            )
            self.fields[self.votes_name(subject)] = field
        if not place.photographs:  # a guest has no light to wish for
            del self.fields["light_wish"], self.fields["output"]
        self._choices("again").queryset = hides
        others = place.trip.places.exclude(pk=place.pk).filter(participant__erased_at=None)
        there = others.filter(state__in=ON_TRIP)
        self._choices("company_with").queryset = there.select_related("participant")
        self.helper = self._laid_out()

    def _choices(self, name: str) -> forms.ModelChoiceField:
        field: Any = self.fields[name]
        return field

    def _laid_out(self) -> FormHelper:
        helper = FormHelper()
        helper.form_tag = False
        names = [self.votes_name(subject) for subject in self.subjects]
        helper.layout = Layout(
            Fieldset(
                gettext("Votes: {number} in all", number=VOTES_IN_ALL),
                Div(*names, css_class="votes-grid", data_votes=VOTES_IN_ALL),
            )
            if names
            else Div(),
            Fieldset(gettext("Light and pictures"), "light_wish", "output") if "output" in self.fields else Div(),
            Fieldset(gettext("Hides"), "again"),
            Fieldset(gettext("Company (only your leader reads this)"), "company_with", "company_how"),
        )
        return helper

    @staticmethod
    def votes_name(subject: Subject) -> str:
        """The name of the field with a subject's votes."""
        return f"votes_{subject.uuid.hex}"

    def clean(self) -> dict[str, Any]:
        """Six votes at most, and company named whole."""
        cleaned = super().clean() or self.cleaned_data
        total = sum(self.votes(cleaned).values())
        if total > VOTES_IN_ALL:
            over = total - VOTES_IN_ALL
            self.add_error(
                None,
                gettext(
                    "You spent {spent} votes; {number} are there to spend. Take {over} back.",
                    spent=total,
                    number=VOTES_IN_ALL,
                    over=over,
                ),
            )
        if bool(cleaned.get("company_with")) != bool(cleaned.get("company_how")):
            self.add_error("company_how", _("Name both the person and how, or neither."))
        return cleaned

    def votes(self, cleaned: dict[str, Any] | None = None) -> dict[int, int]:
        """Votes by subject id, without zeros."""
        data = self.cleaned_data if cleaned is None else cleaned
        given = {subject.pk: data.get(self.votes_name(subject)) or 0 for subject in self.subjects}
        return {key: votes for key, votes in given.items() if votes}


class DetailsForm(forms.ModelForm):
    """Contact, diet, language and units of the person, and what they can and cannot do on this trip."""

    steps_limit = NumberField(label=_("Most steps I can climb or go down"), required=False, whole=True)
    walk_limit_m = LengthField(label=_("Longest walk one way"), required=False)
    hours_limit = NumberField(label=_("Most hours I can sit at a stretch"), required=False, decimals=1)

    class Meta:
        model = Place
        fields = [
            "steps_limit",
            "steps_firm",
            "walk_limit_m",
            "walk_firm",
            "entry_limit",
            "entry_firm",
            "hours_limit",
            "hours_firm",
            "carry_help",
        ]
        labels = {
            "steps_firm": _("I cannot do more steps (unticked: I would rather not)"),
            "walk_firm": _("I cannot walk further (unticked: I would rather not)"),
            "entry_limit": _("Hardest entrance that I manage"),
            "entry_firm": _("I cannot get in otherwise (unticked: I would rather not)"),
            "hours_firm": _("I cannot sit longer (unticked: I would rather not)"),
            "carry_help": _("I need help with carrying"),
        }

    def __init__(self, *args: Any, units: str = "metric", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        keep_stored(self, units)
        entry: Any = self.fields["entry_limit"]
        entry.choices = [("", _("any entrance")), *HARDEST_ENTRIES]

    def clean_steps_limit(self) -> int | None:
        """Steps fit what a row can hold and are not negative."""
        return self._within("steps_limit", 0, 10_000)

    def clean_walk_limit_m(self) -> float | None:
        """A length that is not negative; its bounds are told in the unit that the box shows."""
        field: Any = self.fields["walk_limit_m"]
        return self._within("walk_limit_m", 0, LONGEST_WALK_M, field.widget.unit)

    def clean_hours_limit(self) -> float | None:
        """Hours of a day."""
        return self._within("hours_limit", 0, LONGEST_HOURS)

    def _within(self, name: str, low: float, high: float, unit: str = "") -> Any:
        value = self.cleaned_data[name]
        if value is not None and not low <= value <= high:
            most = f"{int(high / UNIT_M.get(unit, 1)):,} {unit}".strip().replace(",", "\N{NO-BREAK SPACE}")
            raise forms.ValidationError(gettext("Type a number from {low} to {high}.", low=low, high=most))
        return value


class ContactForm(PhonesChecked, forms.ModelForm):
    """Whom to call, what to eat, how to write to the person."""

    class Meta:
        model = Participant
        fields = ["phone", "emergency_contact", "diet", "language", "units"]
        widgets = {"phone": forms.TextInput({"type": "tel", "autocomplete": "tel"})}
        labels = {
            "phone": _("My phone"),
            "emergency_contact": _("Whom to call in an emergency: name and number"),
            "diet": _("What I do not eat"),
            "language": _("Language"),
            "units": _("Lengths and temperatures in"),
        }


class HealthForm(forms.ModelForm):
    """What the leader should know of somebody's health, in the person's own words."""

    class Meta:
        model = HealthNote
        fields = ["text"]
        labels = {"text": _("What my leader should know")}
        widgets = {"text": forms.Textarea(attrs={"rows": 6, "maxlength": 4000, "autocomplete": "off"})}

    def clean_text(self) -> str:
        """At most 4000 characters."""
        text = str(self.cleaned_data["text"])
        if len(text) > 4000:
            raise forms.ValidationError(_("At most 4000 characters."))
        return text


class MessageForm(forms.ModelForm):
    """What a person tells their leaders: what it is about, until when they are late, a few words."""

    until = forms.TimeField(label=_("Late until"), required=False, widget=forms.TimeInput(attrs={"type": "time"}))

    class Meta:
        model = Message
        fields = ["kind", "text"]
        labels = {"kind": _("What"), "text": _("A few words, if you like")}

    def __init__(self, *args: Any, session: Session | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._session = session
        self.order_fields(["kind", "until", "text"])

    def clean(self) -> dict[str, Any]:
        """Somebody late says until when; other words need none. The clock is that of the session's site."""
        data = super().clean() or {}
        if data.get("kind") == "text" and not data.get("text"):
            self.add_error("text", _("Type what it is."))
        if data.get("kind") != "late":
            data["until"] = None
        elif not self.errors:
            self._until(data)
        return data

    def _until(self, data: dict[str, Any]) -> None:
        if self._session is None or data["until"] is None:
            self.add_error("until", _("Say until when, as a time of the session."))
            return
        zone = self._session.site.time_zone
        day = self._session.starts_at.astimezone(ZoneInfo(zone)).date()
        try:
            at = moment_from_local(day, data["until"], zone)
        except (ClockTimeMissing, ClockTimeTwice):
            self.add_error("until", _("Clocks change then: give another time."))
            return
        at += timedelta(days=at < self._session.starts_at - timedelta(hours=12))
        if at >= self._session.ends_at:
            self.add_error("until", _("The session is over by then: say that you do not come."))
        self.instance.until_at = at


class ReadForm(forms.Form):
    """Which issue a page of days showed, as the person read it."""

    issue = forms.UUIDField(label=_("I have read it"), error_messages=dict.fromkeys(("required", "invalid"), READ_ANEW))
    day = forms.UUIDField(required=False, error_messages={"invalid": READ_ANEW})


class EraseForm(forms.Form):
    """The question before everything of a person is erased."""

    sure = forms.BooleanField(label=_("Yes, erase everything about me. This cannot be taken back."))
