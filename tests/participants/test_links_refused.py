"""Sign-in links that open nothing: wrong codes, limits, mangled, replaced, expired, revoked."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from participants import services
from participants.models import AccessLink, Device, LinkPress
from tests import factories
from tests.participants.mailroom import open_mailroom
from tests.participants.sign_in_links import IMMEDIATE, handed_path, home, link_and_code, press

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def mailroom(settings):
    settings.TASKS = IMMEDIATE
    settings.PUBLIC_URL = "http://testserver"
    with open_mailroom() as box:
        yield box


@pytest.fixture
def person():
    return factories.participant(name="Ines Prado", email="ines@example.org")


def test_a_mailed_link_without_its_code_opens_nothing(client, mailroom, person):
    services.link_send(person=person)
    path, code = link_and_code(mailroom)
    wrong = f"{(int(code) + 1) % 10**6:06d}"
    for typed in ("", "12345", "abcdef", wrong):
        answer = press(client, path, typed)
        assert answer.status_code == 200
        assert 'role="alert"' in answer.content.decode()
    assert not Device.objects.exists()
    assert client.get(home(person)).status_code == 302


def test_the_sixth_press_within_an_hour_is_refused_until_the_hour_is_over(client, mailroom, person):
    services.link_send(person=person)
    path, code = link_and_code(mailroom)
    wrong = f"{(int(code) + 1) % 10**6:06d}"
    for _ in range(5):
        assert press(client, path, wrong).status_code == 200
    assert press(client, path, code).status_code == 429
    LinkPress.objects.update(pressed_at=timezone.now() - timedelta(minutes=61))
    assert press(client, path, code).status_code == 302


def test_after_many_wrong_codes_the_link_is_dead_for_good(client, mailroom, person):
    services.link_send(person=person)
    path, code = link_and_code(mailroom)
    wrong = f"{(int(code) + 1) % 10**6:06d}"
    for _ in range(services.WRONG_CODES_IN_ALL):
        LinkPress.objects.filter(key__startswith="mail:").delete()
        press(client, path, wrong)
    LinkPress.objects.filter(key__startswith="mail:").delete()
    assert press(client, path, code).status_code == 410


def test_a_link_handed_over_opens_three_devices_and_says_so(person):
    path = handed_path(person)
    for _ in range(services.HANDED_DEVICES):
        assert press(Client(), path).status_code == 302
    answer = press(Client(), path)
    assert answer.status_code == 410
    assert "It has opened 3 devices, as many as it may" in answer.content.decode()
    assert press(Client(), handed_path(person)).status_code == 302


def test_a_mangled_link_says_so_and_names_nobody(client, person):
    path = handed_path(person)
    answer = client.get(path[:-3] + "xx/")
    assert answer.status_code == 404
    assert "Part of it may be missing" in answer.content.decode()
    assert press(client, path[:-3] + "xx/").status_code == 404


def test_a_replaced_link_says_that_a_newer_one_exists(client, person):
    old = handed_path(person)
    handed_path(person)
    for answer in (client.get(old), press(client, old)):
        assert answer.status_code == 410
        assert "newer link" in answer.content.decode()
        assert "Ines" not in answer.content.decode()


def test_an_expired_link_says_so(client, person):
    path = handed_path(person)
    now = timezone.now()
    AccessLink.objects.update(made_at=now - timedelta(days=15), expires_at=now - timedelta(days=1))
    for answer in (client.get(path), press(client, path)):
        assert answer.status_code == 410
        assert "older than 14 days" in answer.content.decode()


def test_a_revoked_link_says_so_and_a_new_one_works(client, person):
    path = handed_path(person)
    services.links_revoke(person=person)
    assert client.get(path).status_code == 410
    assert press(client, path).status_code == 410
    assert press(client, handed_path(person)).status_code == 302


def test_the_link_of_an_erased_person_opens_nothing(client, person):
    path = handed_path(person)
    person.erased_at = timezone.now()
    person.save()
    assert press(client, path).status_code in (404, 410)
    assert not Device.objects.exists()


def test_a_feed_address_signs_nobody_in(client, person):
    fresh = services.link_prepare(kind="feed_person", owner_uuid=person.uuid)
    services.link_put_in_force(fresh)
    token = fresh.token
    assert client.get(reverse("participants:link-open", args=[token])).status_code == 404
    assert press(client, f"/in/{token}/").status_code == 404
