"""The words of the house: complete, each explained once, reachable from every leader's page."""

import re
from pathlib import Path

import pytest
from django.template import Context, Template
from django.urls import reverse

from tests import factories
from tests.trips.issued_trips import phone_of
from trips.core.values import LightSettings
from trips.documents.wording.glossary import CHAPTERS, WORDS
from trips.models import TripRules

pytestmark = pytest.mark.django_db
TEMPLATES = Path(__file__).resolve().parents[2] / "templates"


def test_keys_fit_an_address_and_are_used_once():
    keys = [word.key for chapter in CHAPTERS for word in chapter.words]
    assert len(keys) == len(set(keys))
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", key) for key in keys)


def test_meanings_are_sentences():
    for word in WORDS.values():
        assert word.meaning[0].isupper(), word
        assert word.meaning.endswith("."), word
        assert len(word.meaning) < 260, word


def test_the_numbers_in_the_words_are_the_defaults():
    light, rules = LightSettings(), TripRules()
    assert f"at least {light.good_minutes:.0f} minutes of light scoring {light.good_score:g}" in (
        WORDS["good-turn"].meaning.lower()
    )
    assert f"up to {light.front_deg:.0f}° off" in WORDS["light"].meaning
    assert f"up to {light.side_deg:.0f}°" in WORDS["light"].meaning
    assert f"higher than {light.top_deg:.0f}°" in WORDS["light"].meaning
    assert f"above {rules.hardship_walk_m:.0f} m" in WORDS["hardship"].meaning
    assert light.best_samples * light.step_min == 90  # "its best hour and a half"


def test_anybody_reads_it_and_every_leaders_page_leads_there(client):
    address = reverse("trips:glossary")
    page = client.get(address).content.decode()
    assert all(f'id="{key}"' in page for key in WORDS)
    trip = factories.trip()
    client.force_login(trip.leader)
    assert f'href="{address}"' in client.get(reverse("trips:trip-list")).content.decode()
    person = factories.place(trip=trip).participant
    assert phone_of(person).get(address).status_code == 200


def test_a_word_in_a_page_leads_to_its_meaning_and_an_unknown_one_fails():
    def drawn(source: str) -> str:
        return Template("{% load glossary_words %}" + source).render(Context())

    assert drawn('{% word "fair-share" %}') == '<a class="word" href="/words/#fair-share">fair share</a>'
    assert ">turns</a>" in drawn('{% word "turn" "turns" %}')
    with pytest.raises(KeyError):
        drawn('{% word "karma" %}')


def test_every_word_that_a_page_leads_to_exists():
    used = {
        key
        for path in TEMPLATES.rglob("*.html")
        for key in re.findall(r'{% word "([^"]+)"', path.read_text(encoding="utf-8"))
    }
    assert used
    assert used <= set(WORDS)
