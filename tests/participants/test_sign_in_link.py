"""Sign-in links by real mail and by hand, scanners, devices, signing out."""

import re

import pytest
from django.conf import settings as django_settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse

from participants import services
from participants.models import AccessLink, Device, LinkPress
from participants.session_store import session_digest
from tests import factories
from tests.participants.mailroom import open_mailroom
from tests.participants.sign_in_links import IMMEDIATE, handed_path, home, link_and_code, press
from tests.trips.form_reading import FormReader

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


def test_a_mailed_link_and_its_code_open_the_pages(client, mailroom, person):
    services.link_send(person=person)
    path, code = link_and_code(mailroom)
    page = client.get(path)
    assert page.status_code == 200
    assert "Ines" not in page.content.decode()
    answer = press(client, path, f"{code[:3]} {code[3:]}")
    assert answer.status_code == 302
    assert answer.url == home(person)
    assert "token" not in answer.url
    assert client.get(home(person)).status_code == 200


def test_a_scanner_that_looks_first_changes_and_spends_nothing(client, mailroom, person):
    services.link_send(person=person)
    path, code = link_and_code(mailroom)
    before = AccessLink.objects.values().get()
    scanner = Client()
    for _ in range(20):
        assert scanner.get(path).status_code == 200
        assert scanner.head(path).status_code == 200
    assert django_settings.SESSION_COOKIE_NAME not in scanner.cookies
    assert AccessLink.objects.values().get() == before
    assert not LinkPress.objects.exists()
    assert not Session.objects.exists()
    assert not Device.objects.exists()
    assert press(client, path, code).status_code == 302


def test_a_handed_link_opens_by_a_press_alone_and_again_on_another_device(person):
    path = handed_path(person)
    for _ in range(3):
        assert press(Client(), path).status_code == 302
    assert Device.objects.filter(participant=person).count() == 3


def test_coming_in_gives_a_new_session_and_a_new_form_token(person):
    client = Client()
    client.force_login(factories.leader())
    client.get(reverse("participants:link-ask"))
    old_session, old_token = client.session.session_key, client.cookies["csrftoken"].value
    path = handed_path(person)
    client.get(path)
    assert press(client, path).status_code == 302
    assert client.cookies[django_settings.SESSION_COOKIE_NAME].value != old_session
    assert not Session.objects.filter(session_key=session_digest(old_session)).exists()
    client.get(home(person))
    assert client.cookies["csrftoken"].value != old_token
    stale = Client()
    stale.cookies[django_settings.SESSION_COOKIE_NAME] = old_session
    assert stale.get(home(person)).status_code == 302


def test_the_press_needs_a_form_token(person):
    client = Client(enforce_csrf_checks=True)
    assert press(client, handed_path(person)).status_code == 403


def test_coming_in_empties_what_another_person_left_but_not_ones_own(person):
    client = Client()
    path = handed_path(person)
    assert press(client, path).headers["Clear-Site-Data"] == '"cache", "storage"'
    assert "Clear-Site-Data" not in press(client, path).headers
    other = factories.participant(name="Tomas")
    assert press(client, handed_path(other)).headers["Clear-Site-Data"] == '"cache", "storage"'
    assert client.get(home(person)).status_code == 404


def test_signing_out_ends_the_session_and_empties_the_device(person):
    client = Client()
    press(client, handed_path(person))
    old = client.cookies[django_settings.SESSION_COOKIE_NAME].value
    answer = client.post(reverse("participants:participant-sign-out"))
    assert answer.headers["Clear-Site-Data"] == '"cache", "cookies", "storage"'
    assert not Device.objects.exists()
    again = Client()
    again.cookies[django_settings.SESSION_COOKIE_NAME] = old
    assert again.get(home(person)).status_code == 302


@pytest.mark.parametrize("method", ["get", "head"])
@pytest.mark.parametrize("name", ["participant-sign-out", "link-press"])
def test_looking_at_the_sign_out_or_the_press_does_nothing_and_leads_to_the_sign_in_page(person, method, name):
    phone = Client()
    press(phone, handed_path(person))
    answer = getattr(phone, method)(reverse(f"participants:{name}"))
    assert answer.url == reverse("participants:link-ask")
    assert phone.get(home(person)).status_code == 200


def test_the_colours_chosen_after_a_wrong_code_lead_to_a_page(client, mailroom, person):
    services.link_send(person=person)
    path, _ = link_and_code(mailroom)
    page = press(client, path, "000000").content.decode()
    (form,) = (form for form in FormReader(page).forms if form.action == reverse("scheme-set"))
    answer = client.post(form.action, {"scheme": "dark", "next": form.sent["next"]}, follow=True)
    assert "<h1" in answer.content.decode()


def test_somebody_elses_link_warns_before_it_signs_out(client, person):
    press(client, handed_path(person))
    page = client.get(handed_path(factories.participant(name="Tomas"))).content.decode()
    assert "Ines Prado is signed in on this device" in page
    assert "Tomas" not in page


def test_the_leader_hands_over_and_revokes(client, person, settings):
    settings.PUBLIC_URL = "http://testserver"
    client.force_login(person.leader)
    show = reverse("participants:sign-in-link-show", args=[person.uuid])
    client.post(reverse("participants:sign-in-link-hand", args=[person.uuid]))
    path = re.search(r'value="http://testserver(/in/[^"]+)"', client.get(show).content.decode())[1]
    phone = Client()
    assert press(phone, path).status_code == 302
    assert phone.get(home(person)).status_code == 200
    client.post(reverse("participants:sign-in-link-revoke", args=[person.uuid]), {"devices": "on"})
    assert phone.get(home(person)).status_code == 302
    assert press(Client(), path).status_code == 410
    assert "/in/h" not in client.get(show).content.decode()


@pytest.mark.parametrize("name", ["sign-in-link-show", "sign-in-link-mail", "sign-in-link-hand", "sign-in-link-revoke"])
def test_the_leaders_page_is_closed_to_others(person, name):
    address = reverse(f"participants:{name}", args=[person.uuid])
    stranger, oneself = Client(), Client()
    stranger.force_login(factories.leader())
    press(oneself, handed_path(person))
    method = "get" if name == "sign-in-link-show" else "post"
    assert getattr(stranger, method)(address).status_code == 404
    assert getattr(oneself, method)(address).status_code == 302
    assert "sign-in" in getattr(oneself, method)(address).url


def test_a_device_signed_out_from_elsewhere_empties_itself_when_it_next_asks(person):
    phone, laptop = Client(), Client(headers={"user-agent": "Mozilla/5.0 (Windows NT 10.0)"})
    press(phone, handed_path(person))
    path = handed_path(person)
    press(laptop, path)
    page = laptop.get(reverse("participants:device-list", args=[person.uuid])).content.decode()
    assert "computer (Windows)" in page
    lost = Device.objects.exclude(name__contains="Windows").get()
    laptop.post(reverse("participants:device-revoke", args=[person.uuid, lost.uuid]))
    answer = phone.get(home(person))
    assert answer.headers["Clear-Site-Data"] == '"cache", "cookies", "storage"'
    assert "signed out from elsewhere" in phone.get(answer.url).content.decode()
    assert laptop.get(home(person)).status_code == 200


def test_coming_in_again_on_one_device_is_one_device(person):
    phone = Client()
    for _ in range(3):
        press(phone, handed_path(person))
    page = phone.get(reverse("participants:device-list", args=[person.uuid])).content.decode()
    assert page.count("Sign this device out") == 1


def test_a_person_ends_their_own_links_and_stays_signed_in(person):
    phone, path = Client(), handed_path(person)
    press(phone, path)
    devices = reverse("participants:device-list", args=[person.uuid])
    assert "The link the leader handed over on" in phone.get(devices).content.decode()
    answer = phone.post(reverse("participants:my-links-revoke", args=[person.uuid]), follow=True)
    assert "No link opens your pages any more." in answer.content.decode()
    assert "No link opens your pages at present." in answer.content.decode()
    assert "End all my links" not in answer.content.decode()
    assert press(Client(), path).status_code == 410
    assert phone.get(home(person)).status_code == 200


def test_a_persons_devices_are_closed_to_others(person):
    phone, other = Client(), Client()
    press(phone, handed_path(person))
    press(other, handed_path(factories.participant()))
    device = Device.objects.get(participant=person)
    assert other.get(reverse("participants:device-list", args=[person.uuid])).status_code == 404
    assert other.post(reverse("participants:my-links-revoke", args=[person.uuid])).status_code == 404
    revoke = reverse("participants:device-revoke", args=[person.uuid, device.uuid])
    assert other.post(revoke).status_code == 404
    assert phone.get(home(person)).status_code == 200


def test_three_people_ask_for_a_participants_page(client, person):
    address = home(person)
    assert client.get(address).url == reverse("participants:link-ask")
    stranger = Client()
    stranger.force_login(factories.leader())
    assert stranger.get(address).status_code == 404
    leader = Client()
    leader.force_login(person.leader)
    page = leader.get(address)
    assert page.status_code == 200
    assert "You see and type what belongs to Ines Prado" in page.content.decode()
    co_leader = factories.leader()
    trip = factories.trip(leader=person.leader)
    trip.co_leaders.add(co_leader)
    factories.place(trip=trip, participant=person)
    stranger.force_login(co_leader)
    assert stranger.get(address, follow=True).status_code == 200


def test_a_participants_page_may_be_kept_by_nobody_in_between(client, person):
    press(client, handed_path(person))
    answer = client.get(home(person))
    assert "private" in answer.headers["Cache-Control"]
    assert "Cookie" in answer.headers["Vary"]
