"""Wrong passwords are counted, a forgotten one is replaced by mail, a changed one ends other sessions."""

import re
from datetime import timedelta
from typing import Any

import pytest
from axes.models import AccessAttempt
from django.contrib.auth import get_user_model
from django.core import mail
from django.db.models import F
from django.test import Client, RequestFactory

from participants.access import client_address

RIGHT, NEW = "meadow-pass-77", "another-meadow-88"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def lena() -> Any:
    return get_user_model().objects.create_user("lena", email="lena@example.org", password=RIGHT)


def try_to_sign_in(client: Client, password: str, name: str = "lena", address: str = "192.0.2.1") -> int:
    return client.post("/sign-in/", {"username": name, "password": password}, REMOTE_ADDR=address).status_code


def plain(answer: Any) -> str:
    """The page without the names of its forms, which differ each time."""
    return re.sub(r'("x-csrftoken": "|(csrfmiddlewaretoken|form_uuid)" value=")[\w-]+', "", answer.content.decode())


@pytest.mark.parametrize("path", ["/sign-in/", "/admin/login/"])
def test_after_ten_wrong_passwords_even_the_right_one_has_to_wait(path: str) -> None:
    def post(password: str) -> int:
        return Client().post(path, {"username": "lena", "password": password}).status_code

    assert [post("wrong") for _ in range(9)] == [200] * 9
    assert post("wrong") == 429
    assert post(RIGHT) == 429
    AccessAttempt.objects.update(attempt_time=F("attempt_time") - timedelta(minutes=16))
    assert post(RIGHT) in (200, 302)  # the admin's page tells who is no staff so


def test_many_names_from_one_address_count_together_and_other_addresses_stay_open() -> None:
    for number in range(10):
        try_to_sign_in(Client(), "wrong", name=f"guess {number}")
    assert try_to_sign_in(Client(), RIGHT) == 429
    assert try_to_sign_in(Client(), RIGHT, address="192.0.2.2") == 302


def test_nobody_locks_a_leader_out_of_a_device_they_used_before() -> None:
    own = Client()
    assert try_to_sign_in(own, RIGHT) == 302
    own.post("/sign-out/", REMOTE_ADDR="192.0.2.1")
    for number in range(12):
        try_to_sign_in(Client(), "wrong", address=f"198.51.100.{number}")
    assert try_to_sign_in(Client(), RIGHT, address="203.0.113.5") == 429
    assert try_to_sign_in(own, RIGHT) == 302


def test_the_page_of_a_lock_says_how_long_and_offers_a_new_password() -> None:
    for _ in range(10):
        try_to_sign_in(Client(), "wrong")
    page = Client().post("/sign-in/", {"username": "lena", "password": RIGHT}).content.decode()
    assert "15 minutes" in page
    assert "/password/forgotten/" in page


@pytest.mark.parametrize(
    ("remote", "forwarded", "expected"),
    [
        ("192.0.2.1", "198.51.100.9", "192.0.2.1"),
        ("127.0.0.1", "198.51.100.9", "198.51.100.9"),
        ("127.0.0.1", "10.9.9.9, 198.51.100.9", "198.51.100.9"),
        ("127.0.0.1", "198.51.100.9, 127.0.0.1", "198.51.100.9"),
        ("127.0.0.1", "nonsense", None),
        ("", "198.51.100.9", None),
    ],
    ids=["a stranger's header", "our proxy", "typed before our proxy", "two proxies", "nonsense", "a socket"],
)
def test_only_a_trusted_proxy_is_believed_about_whom_it_forwards(
    remote: str, forwarded: str, expected: str | None
) -> None:
    request = RequestFactory().get("/", REMOTE_ADDR=remote, HTTP_X_FORWARDED_FOR=forwarded)
    assert client_address(request) == expected


def test_a_forgotten_password_is_replaced_by_a_mailed_link_that_works_once(client: Client, settings: Any) -> None:
    settings.PUBLIC_URL = "https://rota.example.org"
    asked = client.post("/password/forgotten/", {"email": "lena@example.org"}, follow=True)
    (told,) = mail.outbox
    unknown = client.post("/password/forgotten/", {"email": "nobody@example.org"}, follow=True)
    assert plain(asked) == plain(unknown)
    assert len(mail.outbox) == 1
    link = re.search(r"https://rota\.example\.org(/password/new/\S+)", told.body).group(1)
    form = client.get(link, follow=True)
    short = client.post(form.request["PATH_INFO"], {"new_password1": "short", "new_password2": "short"})
    assert 'role="alert"' in short.content.decode()
    client.post(form.request["PATH_INFO"], {"new_password1": NEW, "new_password2": NEW})
    assert try_to_sign_in(Client(), RIGHT) == 200
    assert try_to_sign_in(Client(), NEW) == 302
    assert "Mail me a new link" in Client().get(link, follow=True).content.decode()


def test_nobody_mails_a_leader_without_end(client: Client) -> None:
    for _ in range(5):
        assert client.post("/password/forgotten/", {"email": "Lena@example.org"}).status_code == 302
    assert len(mail.outbox) == 3


def test_a_changed_password_ends_every_other_session(client: Client, lena: Any) -> None:
    other = Client()
    for one in (client, other):
        try_to_sign_in(one, RIGHT)
    changed = {"old_password": RIGHT, "new_password1": NEW, "new_password2": NEW}
    assert client.post("/password/", changed).status_code == 302
    assert client.get("/").url == "/trips/"
    assert other.get("/").url == "/sign-in/"
    lena.refresh_from_db()
    assert lena.check_password(NEW)


def test_whoever_is_signed_out_changes_no_password(client: Client) -> None:
    assert client.get("/password/").url.startswith("/sign-in/")
