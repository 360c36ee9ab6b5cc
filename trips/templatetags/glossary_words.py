"""A word that leads to its meaning: load glossary_words, then `{% word "turn" %}` or `{% word "turn" "turns" %}`."""

from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from trips.documents.wording.glossary import WORDS

register = template.Library()


@register.simple_tag
def word(key: str, text: str = "") -> SafeString:
    """The word (or `text`) as a link to the page of words; an unknown key is a mistake of the page and fails."""
    known = WORDS[key]
    return format_html('<a class="word" href="{}#{}">{}</a>', reverse("trips:glossary"), key, text or known.word)
