"""A person's turn in words, on pages and papers alike: `{% load turn_words %}`, then `{{ turn|way_words:units }}`.

The filters are the functions of the documents by their own names; `units` is "metric" or "feet".
"""

from django import template

from trips.documents import briefing_cards, briefing_pages, now_card, overdue, quantities
from trips.documents.wording import advice, days, now, reach

register = template.Library()

for words in (
    advice.carry_sentences,
    advice.background_sentence,
    advice.handling_sentences,
    advice.light_short,
    advice.setting_short,
    advice.setting_words,
    advice.settings_reasons,
    advice.step_sentences,
    advice.stops_words,
    briefing_cards.fill_other,
    briefing_cards.fill_share,
    briefing_pages.best_lens,
    briefing_pages.best_light,
    briefing_pages.short_way,
    days.car_words,
    days.company_words,
    now.days_to_go,
    days.doors_words,
    days.gear_level,
    days.gear_sentence,
    days.gear_verdict,
    days.heat_sentences,
    days.hours_words,
    days.in_place_words,
    days.kind_words,
    days.leave_words,
    days.light_words,
    days.drive_sentences,
    days.unsettled_words,
    days.loan_sentences,
    days.notice_sentence,
    days.own_hours_words,
    days.perch_words,
    days.pick_up_hours,
    days.pick_up_words,
    days.ready_day,
    days.rest_words,
    days.sky_words,
    days.water_words,
    days.way_words,
    overdue.numbers_in,
    quantities.clock_text,
    quantities.short_day_text,
    reach.assumed_sentences,
    reach.verdict_words,
    reach.warning_sentence,
    now_card.rows_to_show,
):
    register.filter(words)
