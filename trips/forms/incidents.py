"""The form of an incident's record."""

from typing import Any

from django import forms

from trips.assemble.sessions import session_label
from trips.models import Hide, Session, Trip


class IncidentForm(forms.Form):
    """What a leader adds to what was noted on the day."""

    session = forms.ModelChoiceField(Session.objects.none(), to_field_name="uuid", label="Session")
    hide = forms.ModelChoiceField(
        Hide.objects.none(), to_field_name="uuid", required=False, label="Hide", help_text="Empty: the whole session."
    )
    happened = forms.CharField(
        max_length=5000,
        label="What happened",
        widget=forms.Textarea({"rows": 6}),
        help_text="What was seen and done, with times.",
    )
    told = forms.CharField(
        max_length=3000,
        required=False,
        label="Who was told when",
        widget=forms.Textarea({"rows": 4}),
        help_text="One line each: 11:20 the owner, by telephone.",
    )

    def __init__(self, *args: Any, trip: Trip, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        sessions: Any = self.fields["session"]
        hides: Any = self.fields["hide"]
        sessions.queryset = trip.sessions.select_related("site")
        sessions.label_from_instance = session_label
        hides.queryset = Hide.objects.filter(site__sessions__trip=trip).select_related("site").distinct()

    def clean(self) -> dict[str, Any]:
        """A hide of the session's site."""
        cleaned = super().clean() or self.cleaned_data
        session, hide = cleaned.get("session"), cleaned.get("hide")
        if session is not None and hide is not None and hide.site_id != session.site_id:
            self.add_error("hide", f"{hide.name} is not at the site of that session. Choose another hide or session.")
        return cleaned
