"""Typed names on pages: `{% load typed_names %}`, then `{{ hide.name|isolated }}` wherever figures may stand beside it.

What has nothing from right to left in it stays as it is.
"""

from collections.abc import Iterable

from django import template
from django.template.defaultfilters import stringfilter

from participants.core.isolation import isolated
from participants.core.language import list_text

register = template.Library()
register.filter("isolated", stringfilter(isolated))


@register.filter
def names_listed(names: Iterable[str]) -> str:
    """ "Ada, Ben and Cleo"."""
    return list_text(map(isolated, names))
