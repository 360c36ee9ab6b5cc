"""Forms of the house."""

from django import forms
from django.utils.http import url_has_allowed_host_and_scheme

from config.context import SCHEMES


class SchemeForm(forms.Form):
    """Which colours the pages have, and the page to come back to."""

    scheme = forms.ChoiceField(choices=[(name, name) for name in (*SCHEMES, "device")])
    next = forms.CharField(required=False)

    def clean_next(self) -> str:
        """A path of this site; anything else leads home."""
        path = self.cleaned_data["next"]
        return path if path.startswith("/") and url_has_allowed_host_and_scheme(path, allowed_hosts=None) else "/"
