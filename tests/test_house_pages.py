"""Headers, sign-in of leaders, colours, and pages of what goes wrong."""

from types import SimpleNamespace
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.test import Client


@pytest.fixture
def leader() -> Any:
    user = get_user_model().objects.create_user("lena", password="meadow-pass-77")
    return SimpleNamespace(row=user, form={"username": "lena", "password": "meadow-pass-77"})


@pytest.mark.django_db
def test_every_answer_carries_the_headers_of_trust(client: Client) -> None:
    answer = client.get("/sign-in/")
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "camera=()" in answer.headers["Permissions-Policy"]
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert answer.headers["X-Frame-Options"] == "DENY"


@pytest.mark.django_db
def test_a_leader_signs_in_and_out_and_the_browser_forgets_who_was_there_before(client: Client, leader: Any) -> None:
    client.get("/sign-in/")
    before = client.cookies["csrftoken"].value
    answer = client.post("/sign-in/", leader.form)
    assert answer.status_code == 302
    assert answer.headers["Clear-Site-Data"] == '"cache", "storage"'
    assert client.cookies["csrftoken"].value != before
    assert client.session["_auth_user_id"] == str(leader.row.pk)
    answer = client.post("/sign-out/")
    assert answer.headers["Clear-Site-Data"] == '"cache", "cookies", "storage"'
    assert "_auth_user_id" not in client.session


@pytest.mark.django_db
def test_a_wrong_password_comes_back_with_the_name_typed_and_says_so(client: Client, leader: Any) -> None:
    answer = client.post("/sign-in/", leader.form | {"password": "wrong"})
    assert answer.status_code == 200
    assert "Clear-Site-Data" not in answer.headers
    page = answer.content.decode()
    assert 'role="alert"' in page
    assert 'value="lena"' in page
    assert "wrong" not in page


@pytest.mark.django_db
def test_signing_out_takes_a_press_never_a_link(client: Client) -> None:
    assert client.get("/sign-out/").status_code == 405


@pytest.mark.django_db
def test_the_way_home_depends_on_who_asks(client: Client, leader: Any) -> None:
    assert client.get("/").url == "/sign-in/"
    client.force_login(leader.row)
    assert client.get("/").status_code == 302
    assert client.get("/").url != "/sign-in/"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("chosen", "then", "kept", "leads_to"),
    [
        ("dark", "/sign-in/?next=/x", "dark", "/sign-in/?next=/x"),
        ("light", "https://elsewhere.example/", "light", "/"),
        ("light", "//elsewhere.example/", "light", "/"),
        ("device", "/sign-in/", "", "/sign-in/"),
        ("night", "/sign-in/", "night", "/sign-in/"),
    ],
)
def test_the_colours_are_chosen_with_a_press(client: Client, chosen: str, then: str, kept: str, leads_to: str) -> None:
    answer = client.post("/colours/", {"scheme": chosen, "next": then})
    assert answer.url == leads_to
    assert client.cookies["scheme"].value == kept
    page = client.get("/sign-in/").content.decode()
    assert (f'data-bs-theme="{kept}"' in page) == bool(kept)


@pytest.mark.django_db
def test_an_unknown_colour_changes_nothing(client: Client) -> None:
    assert client.post("/colours/", {"scheme": "url(x)", "next": "/"}).status_code == 302
    assert "scheme" not in client.cookies


@pytest.mark.django_db
def test_what_goes_wrong_is_said_in_the_look_of_the_house(client: Client, settings: Any) -> None:
    missing = client.get("/nothing-here/")
    assert missing.status_code == 404
    assert "There is no such page, or it is not yours to see" in missing.content.decode()
    strict = Client(enforce_csrf_checks=True)
    refused = strict.post("/colours/", {"scheme": "dark", "next": "/"})
    assert refused.status_code == 403
    assert "Nothing was saved" in refused.content.decode()


def test_a_break_on_our_side_is_said_without_a_trace() -> None:
    from config.views import server_error

    answer = server_error(None)  # type: ignore[arg-type]
    assert answer.status_code == 500
    assert "Something broke on our side" in answer.content.decode()
