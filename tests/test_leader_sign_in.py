"""A second step for leaders who want one, where they are signed in, and an end of it everywhere."""

import re
import time
from base64 import b32decode
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.contrib.sessions.models import Session
from django.test import Client
from django_otp.oath import TOTP
from django_otp.plugins.otp_static.models import StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from config.middleware import SEEN_HOUR
from trips.services.backup import backup_write

RIGHT, OWN = "meadow-pass-77", "/leader/sign-in/"
BEGIN, CHANGE, CODE = f"{OWN}two-steps/", f"{OWN}two-steps/change/", "/sign-in/code/"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def lena() -> Any:
    return get_user_model().objects.create_user("lena", password=RIGHT, is_staff=True)


@pytest.fixture
def browser() -> Client:
    return signed_in()


def signed_in(path: str = "/sign-in/", **more: str) -> Client:
    """A browser in which the right password was typed."""
    client = Client(headers={"user-agent": "Windows"})
    assert client.post(path, {"username": "lena", "password": RIGHT} | more).status_code == 302
    return client


def is_in(client: Client) -> bool:
    return client.get("/trips/").status_code == 200


def app_code(key: bytes, steps: int = 0) -> str:
    """What the app shows, some steps of 30 s from now."""
    moment = TOTP(key)
    moment.time = time.time() + 30 * steps
    return f"{moment.token():06}"


def switched_on(browser: Client) -> tuple[bytes, list[str]]:
    """The app's key, and the recovery codes that the page shows."""
    key = b32decode("".join(re.findall(r"<code>(\w+)</code>", browser.get(BEGIN).content.decode())))
    page = browser.post(BEGIN, {"code": app_code(key)}).content.decode()
    return key, re.findall(r"<code>(\w+)</code>", page)


def test_the_second_step_is_asked_after_the_password_and_nobody_is_in_before(browser):
    key, _ = switched_on(browser)
    assert is_in(browser)
    other = signed_in(next="/leader/")
    assert not is_in(other)
    assert "six digits" in other.get(CODE).content.decode()
    assert other.post(CODE, {"code": app_code(key, steps=1)}).url == "/leader/"
    assert is_in(other)


def test_a_code_counts_once_and_a_wrong_one_is_told(browser):
    key, _ = switched_on(browser)
    code = app_code(key, steps=1)
    assert signed_in().post(CODE, {"code": code}).status_code == 302
    again = signed_in()
    for wrong in (code, "000000", "abc", "", "٣٣٣٣٣٣"):
        assert again.post(CODE, {"code": wrong}).status_code == 200
    assert "not the code of this moment" in again.post(CODE, {"code": "123456"}).content.decode()
    assert not is_in(again)


def test_a_recovery_code_opens_once(browser):
    _, codes = switched_on(browser)
    assert len(codes) == 10
    assert signed_in().post(CODE, {"code": codes[0].upper()}).status_code == 302
    assert signed_in().post(CODE, {"code": codes[0]}).status_code == 200
    page = browser.get(OWN).content.decode()
    assert "9 recovery codes left" in page
    assert not any(code in page for code in codes)


def test_the_password_has_to_be_typed_again_after_ten_minutes(browser, monkeypatch):
    key, _ = switched_on(browser)
    other, now = signed_in(), time.time()
    monkeypatch.setattr(time, "time", lambda: now + 601)
    assert other.post(CODE, {"code": app_code(key)}).url == "/sign-in/"
    assert not is_in(other)


def test_the_admin_is_behind_the_same_door(browser):
    switched_on(browser)
    other = signed_in("/admin/login/", next="/admin/")
    assert other.get("/admin/").status_code == 302
    get_user_model().objects.create_user("ivo", password=RIGHT)
    plain = Client()
    plain.post("/sign-in/", {"username": "ivo", "password": RIGHT})
    assert "for the staff" in plain.get("/admin/", follow=True).content.decode()


def test_switching_it_on_needs_the_apps_code_and_ends_other_sessions(browser):
    other = signed_in()
    browser.get(BEGIN)
    assert "not the code of this moment" in browser.post(BEGIN, {"code": "000000"}).content.decode()
    assert not TOTPDevice.objects.exists()
    assert is_in(other)
    switched_on(browser)
    assert is_in(browser)
    assert not is_in(other)
    assert browser.get(BEGIN).url == OWN


def test_switching_it_off_and_new_recovery_codes_need_the_password(browser):
    _, codes = switched_on(browser)
    for step in ("off", "codes"):
        answer = browser.post(CHANGE, {"password": "wrong", "step": step})
        assert "not your password" in answer.content.decode()
    assert sorted(StaticToken.objects.values_list("token", flat=True)) == sorted(codes)
    page = browser.post(CHANGE, {"password": RIGHT, "step": "codes"}).content.decode()
    fresh = re.findall(r"<code>(\w+)</code>", page)
    assert not set(fresh) & set(codes)
    assert browser.post(CHANGE, {"password": RIGHT, "step": "off"}).url == OWN
    assert not StaticToken.objects.exists()
    assert is_in(signed_in())


def test_a_leader_reads_where_they_are_signed_in_and_ends_it_everywhere(browser):
    other = signed_in()
    page = browser.get(OWN).content.decode()
    assert page.count("computer (Windows)") == 2
    assert page.count("this one") == 1
    answer = browser.post(f"{OWN}end/")
    assert (answer.url, "storage" in answer.headers["Clear-Site-Data"]) == ("/sign-in/", True)
    assert not is_in(browser)
    assert not is_in(other)


def test_a_session_in_use_is_noted_once_an_hour(browser):
    def ends() -> Any:
        return Session.objects.get().expire_date

    before = ends()
    browser.get("/trips/")
    assert ends() == before
    session = browser.session
    session[SEEN_HOUR] = "2026-01-01 00"
    session.save()
    Session.objects.update(expire_date=before - timedelta(days=3))
    browser.get("/trips/")
    assert ends() >= before


def test_a_backup_holds_no_key_and_no_recovery_code(browser):
    _, codes = switched_on(browser)
    stream = BytesIO()
    backup_write(stream)
    for secret in (TOTPDevice.objects.get().key, *codes):
        assert secret.encode() not in stream.getvalue()
