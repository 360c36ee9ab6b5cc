"""Forms of the day: the availability of each hide, and ticks of who is out and back."""

from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from participants.form_fields import keep_stored, number_field
from trips.core.local_time import ClockTimeMissing, ClockTimeTwice, moment_from_local
from trips.core.session_rules import LONGEST_H
from trips.documents.wording.happenings import NOBODY_NAMED
from trips.documents.wording.sessions import session_hours
from trips.form_fields import LocalMomentField
from trips.models import Hide, HideState, Session, SessionHide
from trips.selectors.session import local_hours

REASONS = (
    "let to others",
    "rest day of the hide",
    "farm work",
    "hunting",
    "outside the licence's dates",
    "track closed",
)
REASONS_ID = "reasons"


class AvailabilityForm(forms.ModelForm):
    """The availability of one hide in one session."""

    starts_at = LocalMomentField(required=False, label="Own start")
    ends_at = LocalMomentField(required=False, label="Own end")
    seen_version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = SessionHide
        formfield_callback = number_field
        fields = ["state", "notice_h", "reason", "starts_at", "ends_at", "shares_seat"]
        labels = {"state": "Availability", "notice_h": "Hours of notice", "shares_seat": "Two people share one seat"}
        widgets = {"reason": forms.TextInput({"list": REASONS_ID})}
        help_texts = {
            "notice_h": "Only where the owner needs notice; a rota uses the hide while that much time is left.",
            "reason": "Needed where it is unavailable; people read it on the rota.",
        }

    def __init__(self, *args: Any, session: Session, hide: Hide, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs | {"prefix": f"hide-{hide.uuid}"})
        keep_stored(self)
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


def availability_forms(session: Session, hides: Iterable[Hide], data: Any = None) -> list[AvailabilityForm]:
    """A form for each hide of the session's site."""
    says = {say.hide_id: say for say in session.session_hides.all()}
    return [AvailabilityForm(data, session=session, hide=hide, instance=says.get(hide.pk)) for hide in hides]


PERSON = "(place-[0-9a-f-]{36}|leader-[0-9]{1,18})"
HIDE = "hide-[0-9a-f-]{36}"
TICKS = ("out", "back", "undo", "not_coming", "late", "left_early", "moved", "hide_closed", "hide_open")


class TickForm(forms.Form):
    """What is noted. `who`: one person, or several with spaces between them, or a hide; `until`: of somebody late.

    `hide`: where somebody was moved.
    """

    who = forms.RegexField(
        rf"^({PERSON}( {PERSON})*|{HIDE})$",
        max_length=4000,
        error_messages={"required": NOBODY_NAMED, "invalid": NOBODY_NAMED},
    )
    what = forms.ChoiceField(choices=[(what, what) for what in TICKS])
    until = forms.TimeField(required=False, label="Late until")
    hide = forms.ModelChoiceField(Hide.objects.none(), to_field_name="uuid", required=False)

    def __init__(self, *args: Any, session: Session, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._session = session
        hide: Any = self.fields["hide"]
        hide.queryset = session.site.hides.all()

    @property
    def refusal(self) -> str:
        """What is wrong, in sentences; empty where nothing is."""
        return " ".join(str(text) for texts in self.errors.values() for text in texts)

    def clean_who(self) -> list[str]:
        """The keys of the people, or of the hide."""
        return str(self.cleaned_data["who"]).split()

    def clean(self) -> dict[str, Any]:
        """A hide is closed and opened, a person everything else; the clock time as a moment of the session's day."""
        cleaned = super().clean() or {}
        if cleaned.get("who") and (
            cleaned.get("what", "").startswith("hide_") != cleaned["who"][0].startswith("hide-")
        ):
            self.add_error("who", NOBODY_NAMED)
        if cleaned.get("what") == "moved" and cleaned.get("hide") is None and "hide" not in self.errors:
            self.add_error("hide", "Choose the hide to which somebody was moved.")
        clock, session = cleaned.get("until"), self._session
        if clock is not None:
            starts_at = session.starts_at.astimezone(ZoneInfo(session.site.time_zone))
            try:
                cleaned["until"] = moment_from_local(starts_at.date(), clock, session.site.time_zone)
            except (ClockTimeMissing, ClockTimeTwice):
                self.add_error("until", "Clocks change then: give another time.")
            else:
                if cleaned["until"] < starts_at - timedelta(hours=LONGEST_H / 2):  # of a night: on the next day
                    cleaned["until"] += timedelta(days=1)
        return cleaned


class DayForm(forms.Form):
    """Which day is shown."""

    day = forms.DateField(required=False)
