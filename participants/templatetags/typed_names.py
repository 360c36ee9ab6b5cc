"""Typed names on pages: `{% load typed_names %}`, then `{{ hide.name|isolated }}` wherever figures may stand beside it.

What has nothing from right to left in it stays as it is.
"""

from django import template
from django.template.defaultfilters import stringfilter

from participants.core.isolation import isolated

register = template.Library()
register.filter("isolated", stringfilter(isolated))
