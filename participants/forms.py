"""Forms of signing in."""

import re

from django import forms
from django.utils.translation import gettext_lazy as _

from participants.tokens import CODE_DIGITS


class LinkAskForm(forms.Form):
    """Ask for a new link by mail."""

    email = forms.EmailField(
        label=_("Your e-mail address"),
        max_length=254,
        help_text=_("The one your leader has of you."),
        widget=forms.EmailInput(attrs={"autocomplete": "email", "inputmode": "email"}),
    )


class LinkPressForm(forms.Form):
    """Open a link that was handed over: a press alone."""

    token = forms.CharField(max_length=120, widget=forms.HiddenInput)


class LinkCodeForm(LinkPressForm):
    """Open a link that came by mail: the code in the mail as well."""

    code = forms.CharField(
        label=_("The six digits in the mail"),
        max_length=12,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "one-time-code"}),
    )

    def clean_code(self) -> str:
        """Six digits; spaces and hyphens between them do no harm."""
        code = re.sub(r"[\s\-]", "", self.cleaned_data["code"])
        if not (code.isascii() and code.isdigit() and len(code) == CODE_DIGITS):
            raise forms.ValidationError(_("Type the six digits of the mail, for example 042 917."))
        return code
