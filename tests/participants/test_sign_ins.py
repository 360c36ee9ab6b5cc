"""A sign-in is in force while its session lives on the server; keys are kept as digests; new devices are told of."""

from datetime import UTC, datetime, timedelta
from importlib import import_module
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings as django_settings
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from participants import selectors, services
from participants.models import Device, HealthNote
from participants.session_store import SessionStore, session_digest
from participants.tasks import device_added_send
from tests import factories
from tests.participants.mailroom import open_mailroom
from tests.participants.sign_in_links import IMMEDIATE
from tests.trips.issued_trips import phone_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
OTHER_KEY = "another key that is long enough for anybody: 0123456789abcdef"


@pytest.fixture
def person():
    place = factories.place(participant=factories.participant(name="Ines Prado", email="ines@example.org"))
    HealthNote.objects.create(participant=place.participant, text="penicillin")
    return place.participant


@pytest.fixture
def mailroom(settings):
    settings.TASKS = IMMEDIATE
    with open_mailroom() as box:
        yield box


def key_of(browser):
    return browser.cookies[django_settings.SESSION_COOKIE_NAME].value


def session_of(browser):
    return Session.objects.filter(session_key=session_digest(key_of(browser)))


def expire(browser):
    session_of(browser).update(expire_date=timezone.now() - timedelta(seconds=1))


def expire_and_clear(browser):
    expire(browser)
    call_command("clearsessions")


def own(name, person):
    return reverse(f"trips:my-{name}", args=[person.uuid])


def is_in(browser, person):
    """Whether the browser gets the person's pages; otherwise it is led to the sign-in page."""
    answer = browser.get(own("health", person))
    assert answer.status_code == 200 or answer.url.startswith(reverse("participants:link-ask"))
    return answer.status_code == 200


def devices_page(browser, person):
    return browser.get(reverse("participants:device-list", args=[person.uuid])).content.decode()


ENDINGS = {
    "row deleted": lambda browser: session_of(browser).delete(),
    "expired": expire,
    "cleared": expire_and_clear,
    "flushed": lambda browser: SessionStore(key_of(browser)).flush(),
    "all deleted": lambda browser: Session.objects.all().delete(),
}


@pytest.mark.parametrize("end", ENDINGS.values(), ids=ENDINGS)
def test_a_phone_whose_session_is_over_gets_nothing_and_writes_nothing(person, end):
    phone = phone_of(person)
    assert "penicillin" in phone.get(own("health", person)).content.decode()
    end(phone)
    for name in ("start", "days", "health", "pack", "data"):
        answer = phone.get(own(name, person))
        assert (answer.status_code, answer.content) == (302, b""), name
        assert answer.url == reverse("participants:link-ask"), name
    phone.post(own("health", person), {"text": "rewritten"})
    assert HealthNote.objects.get(participant=person).text == "penicillin"
    assert phone.get(reverse("home")).url == reverse("sign-in")


def test_a_phone_whose_session_is_over_is_signed_in_again_by_a_link_and_keeps_its_forms(person):
    phone = phone_of(person)
    session_of(phone).delete()
    token = services.link_hand_over(person=person)
    answer = phone.post(reverse("participants:link-press"), {"token": token})
    assert "Clear-Site-Data" not in answer.headers
    assert phone.get(own("days", person)).status_code == 200


def test_a_session_that_names_somebody_else_opens_nothing(person):
    phone, other = phone_of(person), factories.participant()
    session = SessionStore(key_of(phone))
    session[selectors.SIGNED_IN_AS] = str(other.uuid)
    session.save()
    for one in (person, other):
        assert not is_in(phone, one)
    assert selectors.devices_of(person) == selectors.devices_of(other) == []


def test_a_session_without_its_device_opens_nothing(person):
    phone = phone_of(person)
    Device.objects.all().delete()
    assert not is_in(phone, person)


def test_no_table_holds_the_key_of_a_session(person):
    phone, leader = phone_of(person), Client()
    leader.force_login(person.leader)
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            rows = repr(cursor.fetchall())
            assert key_of(phone) not in rows, table
            assert key_of(leader) not in rows, table


def test_what_the_table_of_sessions_holds_opens_nothing(person):
    phone_of(person)
    thief = Client()
    for row in Session.objects.all():
        thief.cookies[django_settings.SESSION_COOKIE_NAME] = row.session_key
        assert not is_in(thief, person)


@pytest.mark.parametrize("cookie", ["x", "a" * 5000, "nul\x00nul"])
def test_a_cookie_that_is_no_key_is_nobody(person, cookie):
    phone = Client()
    phone.cookies[django_settings.SESSION_COOKIE_NAME] = cookie
    assert not is_in(phone, person)


def test_a_store_finds_saves_and_deletes_by_the_key_alone():
    engine = import_module(django_settings.SESSION_ENGINE)
    one = engine.SessionStore()
    one["a"] = 1
    one.save()
    assert engine.SessionStore().exists(one.session_key)
    again = engine.SessionStore(one.session_key)
    again["a"] += 1
    again.save()
    before = again.session_key
    again.cycle_key()
    assert not again.exists(before)
    assert engine.SessionStore(again.session_key)["a"] == 2
    again.delete()
    assert not Session.objects.exists()


def test_another_secret_key_signs_out_participants_and_leaders(person, settings):
    phone, leader = phone_of(person), Client()
    leader.force_login(person.leader)
    assert leader.get(reverse("trips:trip-list")).status_code == 200
    settings.SECRET_KEY = OTHER_KEY
    assert not is_in(phone, person)
    assert leader.get(reverse("trips:trip-list")).status_code == 302
    assert selectors.devices_of(person) == []


def test_the_list_shows_the_devices_that_can_get_in_and_no_other(person):
    phone, laptop, lost = phone_of(person), phone_of(person), phone_of(person)
    session_of(lost).delete()
    expired = phone_of(person)
    expire(expired)
    browsers = (phone, laptop, lost, expired)
    inside = [is_in(one, person) for one in browsers]
    assert inside == [True, True, False, False]
    listed = {one.session_digest for one in selectors.devices_of(person)}
    assert listed == {session_digest(key_of(one)) for one in (phone, laptop)}
    assert devices_page(phone, person).count("Sign this device out") == 2


def test_a_device_ended_in_the_list_is_out_at_once(person):
    phone, laptop = phone_of(person), phone_of(person)
    device = Device.objects.get(session_digest=session_digest(key_of(phone)))
    laptop.post(reverse("participants:device-revoke", args=[person.uuid, device.uuid]))
    assert not session_of(phone).exists()
    assert not is_in(phone, person)
    assert selectors.devices_of(person) == [Device.objects.get(session_digest=session_digest(key_of(laptop)))]


def test_a_persons_other_devices_say_that_a_new_one_signed_in(person):
    laptop = phone_of(person)
    assert "New device signed in on" not in devices_page(laptop, person)
    phone = phone_of(person)
    assert devices_page(laptop, person).count("New device signed in on") == 1
    assert is_in(phone, person)
    leader = Client()
    leader.force_login(person.leader)
    page = leader.get(reverse("participants:sign-in-link-show", args=[person.uuid])).content.decode()
    assert page.count("New device signed in on") == 2
    Device.objects.update(signed_in_at=timezone.now() - selectors.NEW_FOR)
    assert "New device signed in on" not in devices_page(laptop, person)


def test_devices_are_told_by_the_clock_of_the_trip(person):
    person.places.get().trip.sites.update(time_zone="Asia/Kolkata")
    phone, leader = phone_of(person), Client()
    leader.force_login(person.leader)
    Device.objects.update(signed_in_at=datetime(2027, 5, 7, 20, 0, tzinfo=UTC))
    page_of_link = leader.get(reverse("participants:sign-in-link-show", args=[person.uuid])).content.decode()
    for page in (devices_page(phone, person), page_of_link):
        assert "8 May 2027, 01:30 (Asia/Kolkata)" in page


def test_a_browser_that_was_theirs_before_is_not_told_as_new(person, mailroom):
    phone, laptop = phone_of(person), phone_of(person)
    session_of(phone).delete()
    Device.objects.update(is_new=False)
    told = len(mailroom.mails)
    phone.post(reverse("participants:link-press"), {"token": services.link_hand_over(person=person)})
    assert "New device signed in on" not in devices_page(laptop, person)
    assert len(mailroom.mails) == told


WORDS = {
    "en": ("A new device signed in", "sign the device out", "phone (iOS)"),
    "de": ("Ein neues Gerät", "melde das Gerät ab", "Telefon (iOS)"),
    "es": ("Un dispositivo nuevo", "cierra la sesión", "teléfono (iOS)"),
}


@pytest.mark.parametrize("language", WORDS)
def test_the_person_is_told_of_a_new_device_by_mail_in_their_language(person, mailroom, language):
    type(person).objects.filter(pk=person.pk).update(language=language, name="Ines <Prado>")
    phone = Client(headers={"user-agent": "Mozilla/5.0 (iPhone)"})
    phone.post(reverse("participants:link-press"), {"token": services.link_hand_over(person=person)})
    (mail,) = mailroom.mails
    subject, advice, device = WORDS[language]
    assert mail["to"] == person.email
    assert mail["subject"].strip().startswith(subject)
    for text in (mailroom.text(), mailroom.html()):
        assert advice in text
        assert device in text
        assert reverse("participants:device-list", args=[person.uuid]) in text
        assert "/in/" not in text
    assert "Ines <Prado>" in mailroom.text()
    assert "Ines &lt;Prado&gt;" in mailroom.html()


def test_the_mail_tells_the_moment_by_the_clock_of_the_trip(person, mailroom):
    person.places.get().trip.sites.update(time_zone="Pacific/Auckland")
    phone_of(person)
    at = Device.objects.get().signed_in_at.astimezone(ZoneInfo("Pacific/Auckland"))
    assert f"{at:%Y, %H:%M} (Pacific/Auckland)" in mailroom.text()


def test_a_mail_that_is_refused_or_has_no_address_keeps_nobody_out(person, mailroom):
    mailroom.refused.add(person.email)
    assert is_in(phone_of(person), person)
    nobody = factories.participant(email="")
    assert is_in(phone_of(nobody), nobody)
    assert mailroom.mails == []


def test_a_device_that_signs_out_at_once_is_told_of_all_the_same(person):
    with open_mailroom() as box:
        phone = phone_of(person)
        device = Device.objects.get()
        phone.post(reverse("participants:participant-sign-out"))
        assert not Device.objects.exists()
        device_added_send.func(str(person.uuid), device.name, device.signed_in_at.isoformat())
        assert len(box.mails) == 1


@pytest.mark.django_db(transaction=True)
def test_keys_kept_in_clear_become_digests_and_their_sign_ins_end():
    person = factories.participant()
    executor = MigrationExecutor(connection)
    newest = executor.loader.graph.leaf_nodes()
    executor.migrate([("participants", "0001_initial")])
    try:
        old = MigrationExecutor(connection).loader.project_state([("participants", "0001_initial")]).apps
        old.get_model("participants", "Device").objects.create(
            participant_id=person.pk, session_key="key-in-clear", signed_in_at=timezone.now()
        )
        Session.objects.create(session_key="key-in-clear", session_data="", expire_date=timezone.now())
    finally:
        MigrationExecutor(connection).migrate(newest)
    device = Device.objects.get()
    assert (device.session_digest, device.is_new) == (session_digest("key-in-clear"), False)
    assert not Session.objects.exists()
