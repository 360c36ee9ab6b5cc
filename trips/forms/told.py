"""One tick on the list of who was told."""

from django import forms

from trips.services.told import TICKS


class ToldTickForm(forms.Form):
    """Which tick was pressed."""

    tick = forms.ChoiceField(choices=[(tick, tick) for tick in TICKS])
