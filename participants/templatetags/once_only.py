"""The hidden fields of every form: the token against forgery, and the form's own uuid, so that it is taken once."""

import uuid
from typing import Any

from django import template
from django.template.base import Parser, Token
from django.template.defaulttags import CsrfTokenNode
from django.utils.html import format_html

from participants.queued import FORM_UUID

register = template.Library()


class FormNode(CsrfTokenNode):
    """Django's token with the form's uuid beside it."""

    def render(self, context: Any) -> str:
        token = super().render(context)
        return format_html('{}<input type="hidden" name="{}" value="{}">', token, FORM_UUID, uuid.uuid4())


@register.tag
def csrf_token(parser: Parser, token: Token) -> FormNode:
    """In the place of Django's own tag, so that no form can be without."""
    return FormNode()
