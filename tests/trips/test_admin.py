"""The admin: every kind of row has its place, what is confidential has none, what is kept cannot be altered."""

import re
from typing import Any

import pytest
from django.apps import apps
from django.contrib import admin
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse

from participants import models as people
from participants.models import Row
from tests.trips.full_trip import full_trip
from tests.trips.made_once import made_once
from trips import models

pytestmark = pytest.mark.django_db
# Left out on purpose: confidential, or only for the machine.
NOT_IN_ADMIN = {people.HealthNote, people.HealthReading, models.Message, models.Pairing, people.LinkPress}
KEPT = (models.Rota, models.Turn, models.Rest, models.Issue, models.Notice, models.Change, models.Making)
CONFIDENTIAL = ("penicillin", "only leaders may read this")


def make_trip() -> models.Trip:
    trip = full_trip()
    models.Turn.objects.update(leader_reasons=["only leaders may read this"])
    return trip


made = made_once(make_trip)


@pytest.fixture
def trip(made: models.Trip) -> models.Trip:
    return models.Trip.objects.get(pk=made.pk)


@pytest.fixture
def staff(client: Client, trip: models.Trip) -> Client:
    """A browser of somebody who may use the admin."""
    client.force_login(get_user_model().objects.create_superuser("staff", password="quiet-soles-27"))
    return client


def own_kinds() -> list[type[Row]]:
    return [kind for label in ("participants", "trips") for kind in apps.get_app_config(label).get_models()]


def shown_kinds() -> set[type[Any]]:
    """Kinds with a page of their own or a table below another row."""
    pages = {kind for kind in admin.site._registry if kind in own_kinds()}
    return pages | {inline.model for page in admin.site._registry.values() for inline in page.inlines}


def address(kind: type[Any], page: str, *arguments: Any) -> str:
    return reverse(f"admin:{kind._meta.app_label}_{kind._meta.model_name}_{page}", args=arguments)


def test_every_kind_of_row_is_in_the_admin_or_left_out_on_purpose():
    assert set(own_kinds()) - shown_kinds() == NOT_IN_ADMIN


def test_health_notes_and_who_is_apart_are_nowhere_in_the_admin(staff, trip):
    """Not as a kind, not as a table, not as a word on any page."""
    assert not NOT_IN_ADMIN & shown_kinds()
    for kind in admin.site._registry:
        if kind not in own_kinds():
            continue
        pages = [staff.get(address(kind, "changelist"))]
        pages += [staff.get(address(kind, "change", row.pk)) for row in kind._default_manager.all()]
        for page in pages:
            assert page.status_code == 200, kind
            for words in CONFIDENTIAL:
                assert words not in page.content.decode(), kind
    assert "pairing" not in staff.get(reverse("admin:index")).content.decode().lower()


@pytest.mark.parametrize("kind", KEPT)
def test_what_is_kept_can_be_seen_and_not_altered(staff, kind):
    row = kind._default_manager.first()
    assert row is not None
    assert staff.get(address(kind, "add")).status_code == 403
    assert staff.get(address(kind, "delete", row.pk)).status_code == 403
    page = staff.get(address(kind, "change", row.pk))
    assert page.status_code == 200
    assert 'name="_save"' not in page.content.decode()
    staff.post(address(kind, "change", row.pk), {"number": 99, "reason": "altered", "_save": "Save"})
    assert kind._default_manager.get(pk=row.pk).changed_at == row.changed_at
    staff.post(address(kind, "changelist"), {"action": "delete_selected", "_selected_action": [row.pk], "post": "yes"})
    assert kind._default_manager.filter(pk=row.pk).exists()


def test_a_rota_stays_when_its_trip_is_to_be_deleted(staff, trip):
    page = staff.post(address(models.Trip, "delete", trip.pk), {"post": "yes"})
    assert models.Trip.objects.filter(pk=trip.pk).exists()
    assert page.status_code in (200, 403)
    assert models.Rota.objects.filter(trip=trip).count() == 2


def test_a_wrong_row_is_refused_with_the_message_of_its_constraint(staff, trip):
    hide = models.Hide.objects.first()
    assert hide is not None
    page = staff.get(address(models.Hide, "change", hide.pk)).content.decode()
    data = form_data(page)
    data["latitude_deg"] = "39.5"
    answer = staff.post(address(models.Hide, "change", hide.pk), data)
    assert answer.status_code == 200
    assert "A position needs both latitude and longitude." in answer.content.decode()
    data["longitude_deg"] = "-6.2"
    assert staff.post(address(models.Hide, "change", hide.pk), data).status_code == 302
    hide.refresh_from_db()
    assert (hide.latitude_deg, hide.longitude_deg) == (39.5, -6.2)


def form_data(page: str) -> dict[str, str]:
    """The fields of an admin form as a browser would send them back."""
    data: dict[str, str] = {}
    for tag in re.findall(r"<input [^>]*>", page):
        name = re.search(r'name="([^"]+)"', tag)
        kind = re.search(r'type="([^"]+)"', tag)
        value = re.search(r'value="([^"]*)"', tag)
        if name and kind and (kind.group(1) not in ("checkbox", "submit") or "checked" in tag):
            data[name.group(1)] = value.group(1) if value else ("on" if kind.group(1) == "checkbox" else "")
    for name, body in re.findall(r'<select name="([^"]+)"[^>]*>(.*?)</select>', page, flags=re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', body)
        data[name] = chosen.group(1) if chosen else ""
    for name, body in re.findall(r'<textarea name="([^"]+)"[^>]*>\s*(.*?)</textarea>', page, flags=re.DOTALL):
        data[name] = body.replace("&quot;", '"')
    return data


def test_secrets_of_the_way_in_are_not_shown(staff, trip):
    person = trip.places.first().participant
    link = people.AccessLink.objects.create(
        owner_uuid=person.uuid, kind="mail", made_at=trip.changed_at, code_digest="digest-of-the-code"
    )
    device = people.Device.objects.create(
        participant=person, session_digest="digest-of-the-session", signed_in_at=trip.changed_at
    )
    for row in (link, device):
        text = staff.get(address(type(row), "change", row.pk)).content.decode()
        assert "digest-of-the-code" not in text
        assert "digest-of-the-session" not in text


@pytest.mark.parametrize("kind", [models.Turn, models.Session, models.Place, people.Body, models.SessionLog])
def test_a_list_asks_the_database_a_fixed_number_of_times(staff, kind, django_assert_max_num_queries):
    with django_assert_max_num_queries(12):
        assert staff.get(address(kind, "changelist")).status_code == 200


def test_nobody_but_staff_opens_the_admin(client, trip):
    client.force_login(trip.leader)
    answer = client.get(address(models.Trip, "changelist"))
    assert answer.status_code == 302
    assert "login" in answer.headers["Location"]
