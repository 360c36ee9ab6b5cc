"""The way in: links by real mail and by hand, scanners, wrong codes, limits, devices, signing out."""

import re
from datetime import timedelta

import pytest
from django.conf import settings as django_settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from participants import services
from participants.models import AccessLink, Device, LinkPress
from participants.session_store import session_digest
from tests import factories
from tests.participants.mailroom import open_mailroom
from tests.trips.form_reading import FormReader

pytestmark = pytest.mark.django_db
IMMEDIATE = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}


@pytest.fixture
def mailroom(settings):
    settings.TASKS = IMMEDIATE
    settings.PUBLIC_URL = "http://testserver"
    with open_mailroom() as box:
        yield box


@pytest.fixture
def person():
    return factories.participant(name="Ines Prado", email="ines@example.org")


def link_and_code(box):
    text = box.text()
    return re.search(r"http://testserver(/in/\S+)", text)[1], re.search(r"\b(\d{6})\b", text)[1]


def token_of(path):
    return path.split("/")[2]


def press(client, path, code=""):
    return client.post(reverse("participants:link-press"), {"token": token_of(path), "code": code})


def home(person):
    return reverse("trips:my-start", args=[person.uuid])


def handed_path(person):
    return reverse("participants:link-open", args=[services.link_hand_over(person=person)])


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
def test_looking_at_the_sign_out_or_the_press_does_nothing_and_leads_to_the_way_in(person, method, name):
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


def test_a_feed_address_is_no_way_in(client, person):
    fresh = services.link_prepare(kind="feed_person", owner_uuid=person.uuid)
    services.link_put_in_force(fresh)
    token = fresh.token
    assert client.get(reverse("participants:link-open", args=[token])).status_code == 404
    assert press(client, f"/in/{token}/").status_code == 404


def test_somebody_elses_link_warns_before_it_signs_out(client, person):
    press(client, handed_path(person))
    page = client.get(handed_path(factories.participant(name="Tomas"))).content.decode()
    assert "Ines Prado is signed in on this device" in page
    assert "Tomas" not in page


def test_asking_for_a_link_answers_alike_for_strangers(client, mailroom, person):
    ask = reverse("participants:link-ask")
    known = client.post(ask, {"email": "INES@example.org"})
    assert len(mailroom.mails) == 1
    unknown = client.post(ask, {"email": "nobody@example.org"})
    assert len(mailroom.mails) == 1
    same = [answer.content.decode().lower() for answer in (known, unknown)]
    tokens = r'name="csrfmiddlewaretoken" value="\w+"|"x-csrftoken": "\w+"'
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
    answer = client.post(reverse("participants:way-in-mail", args=[person.uuid]), follow=True)
    assert "was not sent" in answer.content.decode()


def test_a_refused_mail_leaves_the_link_before_it_as_it_was(client, mailroom, person):
    services.link_send(person=person)
    path, code = link_and_code(mailroom)
    mailroom.refused.add(person.email)
    client.force_login(person.leader)
    client.post(reverse("participants:way-in-mail", args=[person.uuid]))
    assert press(Client(), path, code).status_code == 302
    mailroom.refused.clear()
    services.link_send(person=person)
    assert press(Client(), path, code).status_code == 410
    assert press(Client(), *link_and_code(mailroom)).status_code == 302


def test_a_first_mail_that_is_refused_is_not_told_as_sent(client, mailroom, person):
    mailroom.refused.add(person.email)
    client.force_login(person.leader)
    client.post(reverse("participants:way-in-mail", args=[person.uuid]))
    page = client.get(reverse("participants:way-in-show", args=[person.uuid])).content.decode()
    assert "The last link was sent" not in page


def test_the_leader_hands_over_and_revokes(client, person, settings):
    settings.PUBLIC_URL = "http://testserver"
    client.force_login(person.leader)
    show = reverse("participants:way-in-show", args=[person.uuid])
    client.post(reverse("participants:way-in-hand", args=[person.uuid]))
    path = re.search(r'value="http://testserver(/in/[^"]+)"', client.get(show).content.decode())[1]
    phone = Client()
    assert press(phone, path).status_code == 302
    assert phone.get(home(person)).status_code == 200
    client.post(reverse("participants:way-in-revoke", args=[person.uuid]), {"devices": "on"})
    assert phone.get(home(person)).status_code == 302
    assert press(Client(), path).status_code == 410
    assert "/in/h" not in client.get(show).content.decode()


@pytest.mark.parametrize("name", ["way-in-show", "way-in-mail", "way-in-hand", "way-in-revoke"])
def test_the_leaders_page_is_closed_to_others(person, name):
    address = reverse(f"participants:{name}", args=[person.uuid])
    stranger, oneself = Client(), Client()
    stranger.force_login(factories.leader())
    press(oneself, handed_path(person))
    method = "get" if name == "way-in-show" else "post"
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
