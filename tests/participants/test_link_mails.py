"""Mails with sign-in links: who gets one, in which language, and mails that are refused."""

import re

import pytest
from django.test import Client
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from participants import services
from participants.models import LinkPress
from tests import factories
from tests.participants.mailroom import open_mailroom
from tests.participants.sign_in_links import IMMEDIATE, link_and_code, press

pytestmark = pytest.mark.django_db


@pytest.fixture
def mailroom(settings):
    settings.TASKS = IMMEDIATE
    settings.PUBLIC_URL = "http://testserver"
    with open_mailroom() as box:
        yield box


@pytest.fixture
def person():
    return factories.participant(name="Ines Prado", email="ines@example.org")


def test_asking_for_a_link_answers_alike_for_strangers(client, mailroom, person):
    ask = reverse("participants:link-ask")
    known = client.post(ask, {"email": "INES@example.org"})
    assert len(mailroom.mails) == 1
    unknown = client.post(ask, {"email": "nobody@example.org"})
    assert len(mailroom.mails) == 1
    same = [answer.content.decode().lower() for answer in (known, unknown)]
    tokens = r'name="(?:csrfmiddlewaretoken|form_uuid)" value="[\w-]+"|"x-csrftoken": "\w+"'
    same = [re.sub(tokens, "", text).replace("ines@", "x@").replace("nobody@", "x@") for text in same]
    assert same[0] == same[1]
    assert known.status_code == unknown.status_code == 200


def test_a_fourth_mail_within_an_hour_is_not_sent(client, mailroom, person):
    for _ in range(5):
        client.post(reverse("participants:link-ask"), {"email": person.email})
    assert len(mailroom.mails) == services.MAILS_AN_HOUR


def test_a_couple_with_one_address_gets_a_mail_each(client, mailroom, person):
    factories.participant(name="Bruno Prado", email=person.email)
    client.post(reverse("participants:link-ask"), {"email": person.email})
    assert sorted("Bruno" in mailroom.text(i) for i in range(2)) == [False, True]


def ask(client, email, address="192.0.2.1"):
    return client.post(reverse("participants:link-ask"), {"email": email}, REMOTE_ADDR=address)


@pytest.mark.parametrize(
    ("first", "near", "far"),
    [("192.0.2.1", "192.0.2.1", "192.0.2.2"), ("2001:db8:1:2::1", "2001:db8:1:2:ffff::9", "2001:db8:1:3::1")],
    ids=["IPv4", "a line's IPv6"],
)
def test_a_flood_of_asking_from_one_network_fills_no_queue_and_tells_nothing(client, person, first, near, far):
    """A queue of links would hold up every other mail; whether anybody has the address must not show."""
    for number in range(services.ASKS_AN_HOUR):
        assert ask(client, f"nobody{number}@example.org", first).status_code == 200
    before = LinkPress.objects.count()
    known, unknown = (ask(client, email, near).content.decode() for email in (person.email, "somebody@example.org"))
    for page in (known, unknown):
        assert "Too many links were asked for from your network" in page
    assert DBTaskResult.objects.count() == services.ASKS_AN_HOUR
    assert LinkPress.objects.count() == before
    assert "Too many" not in ask(client, person.email, far).content.decode()


def test_asking_for_one_address_again_and_again_queues_three(client, person):
    for number in range(8):
        ask(client, person.email, f"192.0.2.{number}")
    assert DBTaskResult.objects.count() == services.MAILS_AN_HOUR


@pytest.mark.parametrize(("language", "word"), [("en", "six digits"), ("de", "sechs Ziffern"), ("es", "seis cifras")])
def test_the_mail_is_text_and_html_in_the_persons_language(mailroom, person, language, word):
    person.language, person.name = language, "Ines <Prado> & Söhne"
    services.link_send(person=person)
    path, code = link_and_code(mailroom)
    assert word in mailroom.text()
    assert "Ines <Prado> & Söhne" in mailroom.text()
    html = mailroom.html()
    assert word in html
    assert f'href="http://testserver{path}"' in html
    assert code in html
    assert "Ines &lt;Prado&gt; &amp; Söhne" in html
    assert "<script" not in html


def test_a_mail_to_a_dead_mailbox_is_told_to_the_leader(client, mailroom, person):
    mailroom.refused.add(person.email)
    client.force_login(person.leader)
    answer = client.post(reverse("participants:sign-in-link-mail", args=[person.uuid]), follow=True)
    assert "was not sent" in answer.content.decode()


def test_a_refused_mail_leaves_the_link_before_it_as_it_was(client, mailroom, person):
    services.link_send(person=person)
    path, code = link_and_code(mailroom)
    mailroom.refused.add(person.email)
    client.force_login(person.leader)
    client.post(reverse("participants:sign-in-link-mail", args=[person.uuid]))
    assert press(Client(), path, code).status_code == 302
    mailroom.refused.clear()
    services.link_send(person=person)
    assert press(Client(), path, code).status_code == 410
    assert press(Client(), *link_and_code(mailroom)).status_code == 302


def test_a_first_mail_that_is_refused_is_not_told_as_sent(client, mailroom, person):
    mailroom.refused.add(person.email)
    client.force_login(person.leader)
    client.post(reverse("participants:sign-in-link-mail", args=[person.uuid]))
    page = client.get(reverse("participants:sign-in-link-show", args=[person.uuid])).content.decode()
    assert "The last link was sent" not in page
