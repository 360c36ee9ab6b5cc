"""Forms that know which version of a row they were opened on, or what they showed when they were opened."""

import hashlib
from typing import Any

from django import forms

STALE = "This changed since you opened it. What you typed is still here; look at the page again before you save."
STALE_LOOK = "This changed since you opened it. The page shows how it stands now; look at it again before you go on."


class SeenVersion(forms.Form):
    """A hidden field with the version of the row that the form was filled from."""

    seen_version = forms.IntegerField(widget=forms.HiddenInput, required=True, min_value=1)


def seen_version(data: Any) -> int:
    """The version a posted form was opened on; 0 where it says none, or was opened before there was a row."""
    form = SeenVersion(data)
    return int(form.cleaned_data["seen_version"]) if form.is_valid() else 0


def fields_mark(*shown: forms.BaseForm) -> str:
    """A mark of what forms show as they are opened: another one as soon as a field of theirs changed, and only then."""
    opened = [sorted(form.initial.items()) for form in shown]
    return hashlib.sha256(repr(opened).encode()).hexdigest()[:16]
