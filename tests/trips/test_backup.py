"""What a backup leaves out, and who is still in after a restore."""

import hashlib
import json
import stat
from datetime import timedelta
from io import BytesIO

import pytest
from django.conf import settings as django_settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from participants import services, tokens
from participants.models import AccessLink, Device, HealthNote, HealthReading, Submission
from participants.session_store import session_digest
from tests import factories
from tests.trips.command_line import run
from tests.trips.issued_trips import phone_of
from tests.trips.test_commands_trip_file import resealed
from trips.services.backup import BackupRefused, backup_restore, backup_write, rows_in_use
from trips.services.calendars import feed_address
from trips.services.trip_file import trip_file_bytes

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def place():
    return factories.place(participant=factories.participant(name="Ines Prado"))


def backup():
    stream = BytesIO()
    backup_write(stream)
    return stream.getvalue()


def restore(content):
    backup_restore(BytesIO(content), replace=True)


def key_of(browser):
    return browser.cookies[django_settings.SESSION_COOKIE_NAME].value


def is_in(browser, person):
    return browser.get(reverse("trips:my-health", args=[person.uuid])).status_code == 200


def press(token):
    return Client().post(reverse("participants:link-press"), {"token": token}).status_code


def test_neither_a_backup_nor_a_trip_file_holds_what_opens_a_page(place, person):
    phone, leader = phone_of(person), Client()
    leader.force_login(place.trip.leader)
    handed = services.link_hand_over(person=person)
    feeds = [feed_address(kind=kind, owner_uuid=uuid) for kind, uuid in _feeds(place)]
    keys = [key_of(phone), key_of(leader)]
    secrets = [handed, *(address.split("/")[-1] or address.split("/")[-2] for address in feeds)]
    macs = [token.removesuffix(".ics").split(".")[-1] for token in secrets]
    for content in (backup(), trip_file_bytes(trip=place.trip, with_health=True)):
        for secret in (*keys, *map(session_digest, keys), *macs):
            assert secret.encode() not in content
        assert django_settings.SECRET_KEY.encode() not in content
        assert b"participants.device" not in content
        assert b"sessions.session" not in content


def _feeds(place):
    return [("feed_person", place.participant.uuid), ("feed_trip", place.trip.uuid)]


def test_a_restore_signs_participants_and_leaders_out(tmp_path, place, person):
    phone, leader = phone_of(person), Client()
    leader.force_login(place.trip.leader)
    assert run("backup", tmp_path / "all").code == 0
    ran = run("restore", tmp_path / "all", "--replace")
    assert "everybody has to sign in again, participants by a new link" in ran.out
    assert not is_in(phone, person)
    assert leader.get(reverse("trips:trip-list")).status_code == 302
    assert not Device.objects.exists()
    assert not Session.objects.exists()


def test_a_restore_ends_the_links_that_sign_in_and_leaves_the_feeds(place, person):
    before = services.link_hand_over(person=person)
    feed = feed_address(kind="feed_person", owner_uuid=person.uuid)
    content = backup()
    restore(content)
    assert press(before) == 410
    assert Client().get(feed).status_code == 200
    assert press(services.link_hand_over(person=person)) == 302


def test_a_link_ended_after_the_backup_never_opens_again(person):
    services.link_hand_over(person=person)
    content = backup()
    later = [services.link_hand_over(person=person) for _ in range(3)]
    services.links_revoke(person=person)
    restore(content)
    fresh = [services.link_hand_over(person=person) for _ in range(4)]
    assert [press(token) for token in later] == [410] * 3
    assert not set(later) & set(fresh)
    assert tokens.token_read(fresh[-1]).counter == AccessLink.objects.get(kind="handed").counter


def test_a_form_taken_before_the_backup_is_taken_once_after_the_restore(person):
    said, lens = {"taken": True, "next": "/"}, reverse("trips:piece-new", args=[person.uuid, "lens"])
    Submission.objects.create(client_uuid=person.uuid, kind="piece-new", taken_at=person.changed_at, answer=said)
    restore(backup())
    sent = {"client_uuid": str(person.uuid)}
    assert phone_of(person).post(lens, sent, headers={"X-Queued": "1"}).json() == said


@pytest.mark.parametrize("model", ["participants.device", "sessions.session"])
def test_a_file_that_brings_a_sign_in_with_it_is_refused(person, model):
    lines = backup().splitlines(keepends=True)[:-1]
    fields = {
        "participants.device": {
            "participant": person.pk,
            "session_digest": session_digest("k" * 32),
            "signed_in_at": "2027-01-01T00:00:00Z",
        },
        "sessions.session": {"session_data": "", "expire_date": "2099-01-01T00:00:00Z"},
    }
    pk = 1 if model == "participants.device" else session_digest("k" * 32)
    lines.append(json.dumps({"model": model, "pk": pk, "fields": fields[model]}).encode() + b"\n")
    with pytest.raises(BackupRefused, match="no backup holds"):
        restore(resealed(lines))
    assert not Session.objects.exists()


def test_a_health_note_that_is_due_is_in_no_backup(person):
    other = factories.participant()
    for one, text in ((other, "note that is due"), (person, "note in force")):
        HealthNote.objects.create(participant=one, text=text)
        HealthReading.objects.create(participant=one, read_at=timezone.now())
    HealthNote.objects.update(changed_at=timezone.now() - timedelta(days=31))
    content = backup()
    assert b"note that is due" not in content
    assert b"note in force" in content
    assert content.count(b"participants.healthreading") == 1


def test_a_check_tells_what_a_restore_would_do_and_changes_nothing(tmp_path, place, person):
    phone = phone_of(person)
    run("backup", tmp_path / "all")
    before, rows = backup(), rows_in_use()
    ran = run("restore", tmp_path / "all", "--check", "--replace")
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert hashlib.sha256(b"".join((tmp_path / "all").read_bytes().splitlines(True)[:-1])).hexdigest() in lines[0]
    assert "  trips.trip 1" in lines
    assert lines[-3:] == [
        "Everybody would be signed out, 1 sessions.",
        "1 sign-in links of the backup would end; 0 mails would be held.",
        f"{rows} rows that the database holds now would be lost.",
    ]
    refused = run("restore", tmp_path / "all", "--check")
    assert (refused.code, refused.out) == (2, ran.out)
    assert "say --replace to lose them" in refused.err
    assert is_in(phone, person)
    assert rows_of(backup()) == rows_of(before)


def rows_of(content):
    return content.splitlines()[1:-1]


def test_an_encrypted_backup_opens_with_its_secret_key_alone(tmp_path, place, settings):
    secret, other, file = tmp_path / "secret", tmp_path / "other", tmp_path / "all"
    public = run("backup_key", secret).out.strip()
    run("backup_key", other)
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600
    settings.BACKUP_PUBLIC_KEY = public
    assert run("backup", file).err.endswith("rows; encrypted.\n")
    assert place.participant.name.encode() not in file.read_bytes()
    for options, reason in (((), "name the file of its secret key"), (("--key", other), "does not open with this key")):
        ran = run("restore", file, "--replace", *options)
        assert ran.code == 2
        assert reason in ran.err
    file.write_bytes(file.read_bytes()[:-20])
    assert "or it is damaged" in run("restore", file, "--replace", "--key", secret).err
    assert run("backup", file, "--public-key", "age1x").err.startswith("That is no public key")
    run("backup", file)
    assert run("restore", file, "--replace", "--key", secret).code == 0
    assert type(place).objects.get().participant.name == place.participant.name
