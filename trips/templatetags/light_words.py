"""Light in words on pages: `{% load light_words %}`, `{{ interval|interval_text }}`, `{{ moment|near_clock }}`."""

from datetime import datetime

from django import template
from django.utils.safestring import SafeString, mark_safe

from trips.core.heat import SessionHeat
from trips.core.light import Caution, Interval, SessionLight, counted_stretch
from trips.core.values import LightSettings
from trips.documents.drawings import light_bar, light_sample
from trips.documents.quantities import clock_range_text, clock_text
from trips.documents.wording.heat import HEAT_TIER_WORDS, rest_words
from trips.documents.wording.light import CLASS_WORDS, DRAWN_WORDS, caution_words, interval_words

register = template.Library()
register.filter("caution_text", caution_words)


@register.filter
def near_clock(moment: datetime | None) -> str:
    """The clock time to the nearest minute; a dash for none."""
    return "–" if moment is None else clock_text(moment)


@register.filter
def span(interval: Interval) -> str:
    """The time of an interval."""
    return clock_range_text(interval.starts_at, interval.ends_at)


@register.filter
def class_text(name: str) -> str:
    """A class of light in words."""
    return CLASS_WORDS.get(name, name)


@register.filter
def counted(light: SessionLight, settings: LightSettings) -> Interval:
    """The stretch that the score counts, with the light that earned it."""
    return counted_stretch(light, settings)


@register.filter
def bar(light: SessionLight, best: Interval) -> SafeString:
    """The session as a bar of time."""
    return mark_safe(light_bar(light, best))


@register.filter
def stretches(light: SessionLight) -> list[str]:
    """The light of the best view in words, stretch by stretch."""
    return [interval_words(interval) for interval in light.best_view.on_perch]


@register.simple_tag
def light_legend() -> list[tuple[SafeString, str]]:
    """What the bars mean: a sample and its word."""
    samples = [*DRAWN_WORDS.items(), ("soft", "soft"), ("best", "best 1.5 hours")]
    return [(mark_safe(light_sample(name)), words) for name, words in samples]


@register.filter
def warnings_of(light: SessionLight) -> list[Caution]:
    """The cautions of the best view, but for plain changes of class."""
    return [caution for caution in light.best_view.cautions if caution.kind != "class_changes"]


@register.filter
def tier_text(heat: SessionHeat) -> str:
    """The heat tier in words."""
    return HEAT_TIER_WORDS[heat.tier]


@register.filter
def rest_text(heat: SessionHeat | None, units: str) -> str:
    """Rest that the heat asks of people who carry gear."""
    return rest_words(heat, units) if heat else ""


@register.filter
def drawn(drawing: str) -> SafeString:
    """A drawing made by `trips.documents.drawings`, which escapes all text itself."""
    return mark_safe(drawing)
