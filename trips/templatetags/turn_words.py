"""A person's turn in words, on pages and papers alike: `{% load turn_words %}`, then `{{ turn|way_words:units }}`.

The filters are the functions of the documents by their own names; `units` is "metric" or "feet".
"""

from django import template

from trips.documents import briefing_cards, briefing_pages, quantities
from trips.documents.wording import advice, days, reach

register = template.Library()

for words in (
    advice.carry_sentences,
    advice.iso_words,
    advice.setting_words,
    briefing_cards.aperture_words,
    briefing_cards.drive_words,
    briefing_cards.expected_iso,
    briefing_cards.fill_length,
    briefing_cards.fill_share,
    briefing_cards.focus_words,
    briefing_cards.shutter_words,
    briefing_pages.best_lens,
    briefing_pages.best_light,
    briefing_pages.short_way,
    days.car_words,
    days.company_words,
    days.doors_words,
    days.gear_level,
    days.gear_sentence,
    days.gear_verdict,
    days.heat_sentences,
    days.hours_words,
    days.leave_words,
    days.light_words,
    days.notice_sentence,
    days.own_hours_words,
    days.perch_words,
    days.pick_up_hours,
    days.pick_up_words,
    days.ready_day,
    days.rest_words,
    days.settings_reasons,
    days.water_words,
    days.way_words,
    quantities.clock_text,
    quantities.short_day_text,
    reach.assumed_sentences,
    reach.verdict_words,
    reach.warning_sentence,
):
    register.filter(words)
