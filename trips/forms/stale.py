"""Forms that know which version of a row they were opened on."""

from typing import Any

from django import forms

from participants.models import Row

STALE = "This changed since you opened it. What you typed is still here; look at the page again before you save."
STALE_LOOK = "This changed since you opened it. The page shows how it stands now; look at it again before you go on."


class SeenVersion(forms.Form):
    """A hidden field with the version of the row that the form was filled from."""

    seen_version = forms.IntegerField(widget=forms.HiddenInput, required=True, min_value=1)


def seen_version(data: Any, row: Row) -> int:
    """The version a posted form was opened on; a form without one counts as opened on the oldest."""
    form = SeenVersion(data)
    return int(form.cleaned_data["seen_version"]) if form.is_valid() else 0
