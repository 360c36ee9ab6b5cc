"""Every form that makes rows, found on the pages of the table of access, and pressed twice at one moment."""

import base64
import os
import re
import uuid
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from http import HTTPStatus
from threading import Barrier, Thread
from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import connection, connections, transaction
from django.urls import resolve, reverse

from participants.queued import FORM_UUID
from tests import factories
from tests.access_table import ACCESS
from tests.access_world import World, make_world
from tests.test_access import ADDRESSES
from tests.trips.form_reading import FormReader, PageForm

ANOTHER = 30  # rounds away: names that no other round types
ROUNDS = int(os.environ.get("RACE_ROUNDS", "1"))
COUNTED_ON_PURPOSE = ("Submission", "LinkPress")  # forms that arrived, and tries
RACED_FIRST = ("trips:turn-edit", "trips:rota-change", "trips:rota-issue")  # while the draft suits its trip
FIRST, LAST = object(), object()  # of what a list offers

# What people type, by the end of a field's name, where it is empty; {n} differs by round, {field} by field.
TYPED: dict[str, Any] = {
    "name": "Race {n} {field}",
    "starts_on": "2027-06-01",
    "ends_on": "2027-06-03",
    "position": "39.5, -6.2",
    "time_zone": "Europe/Madrid",
    "meeting_point": "the gate",
    "elevation_m": "0",
    "bearing_deg": "250",
    "near_m": "6",
    "far_m": "6",
    "length_min_cm": "14",
    "length_max_cm": "18",
    "starts_at_day": "2027-05-12",
    "starts_at_clock": "12:{n:02}",
    "ends_at_day": "2027-05-12",
    "ends_at_clock": "12:{n:02}:30",
    "at": "08:30",
    "text": "Asthma",
    "focal_min_mm": "600",
    "focal_max_mm": "600",
    "aperture_wide": "4",
    "aperture_long": "4",
    "near_limit_m": "4.2",
    "pixels_wide": "8256",
    "pixels_high": "5504",
    "frames_per_s": "20",
    "top_iso": "6400",
    "email": "race@example.org",
    "first": FIRST,
    "second": LAST,
    "kind": LAST,
    "borrower": LAST,
    "participant": LAST,
    "from_session": FIRST,
    "sites": FIRST,
    "seat": LAST,
    "company_with": LAST,
    "company_how": FIRST,
}
# The same over what the page filled in, by the name of the address.
CHANGED: dict[str, dict[str, Any]] = {
    "trips:availability-edit": {"state": LAST, "reason": "race", "starts_at": "", "ends_at": ""},
    "trips:absences-edit": {"sessions": FIRST},
    "trips:planner-allow": {"leader": "uninvited"},
    "trips:sessions-make": {"step": "save", "chosen": "9"},
    "trips:people-import": {"step": "save", "content": base64.b64encode(b"name\nRace of a file\n").decode()},
    "trips:leader-edit": {"password": "quiet-soles-27"},
    "trips:my-wishes": {"votes": "1"},
    "trips:turn-edit": {"step": "save"},
    "trips:incident-list": {"session": FIRST, "happened": "Race {n}"},
    "trips:hide-survey": {"name": "Race {n}"},
}


@dataclass(frozen=True)
class Found:
    """A form of a page: who opens which page, the form as it was found there, and what its address is called."""

    asker: str
    page: str
    form: PageForm
    target: str
    alike: frozenset[str]  # the names of its fields without the numbers of rows


def make_race_world() -> World:
    """The world of the table of access, with somebody who may join the trip and a draft that can be issued."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, "testserver"]
    settings.SECURE_SSL_REDIRECT = False
    world = make_world()
    trip = apps.get_model("trips.Trip").objects.get(uuid=world.parts["trip_uuid"])
    trip.gear_away.update(from_at=trip.sessions.last().ends_at)
    leader = trip.leader
    factories.place(trip=factories.trip(leader=leader))
    return world


def pages(world: World) -> Iterator[tuple[str, str]]:
    """Who opens which page."""
    for name, row in ACCESS.items():
        asker = next((who for who in ("leader", "participant") if getattr(row, who) == "page"), None)
        if row.method == "get" and asker:
            parts = world.kwargs_of(ADDRESSES[name]) | row.kwargs
            for other in ({}, {"number": 1}) if name == "trips:rota-number" else ({},):
                page = reverse(name, kwargs=parts | other)
                if "." not in page.rpartition("/")[2]:  # files have no forms
                    yield asker, page


def forms_of(world: World, asker: str, page: str) -> list[PageForm]:
    answer = world.client_of(asker).get(page)
    is_page = answer.headers.get("Content-Type", "").startswith("text/html")
    forms = FormReader(answer.content.decode()).forms if is_page else []
    return [form for form in forms if form.method == "post"]


def forms_found(world: World) -> list[Found]:
    """Every form of every page, those that are alike once."""
    opened = [(who, page, form) for who, page in pages(world) for form in forms_of(world, who, page)]
    found = [Found(who, page, form, *known_by(form, page)) for who, page, form in opened]
    alike: dict[Any, Found] = {}
    for one in found:
        alike.setdefault((one.target, one.alike), one)
    return sorted(alike.values(), key=lambda one: (*RACED_FIRST, one.target).index(one.target))


def known_by(form: PageForm, page: str) -> tuple[str, frozenset[str]]:
    """What a form's address is called, and the names of its fields as they are in every such form."""
    target = resolve((form.action or page).partition("?")[0].partition("#")[0]).view_name
    return target, frozenset(re.sub(r"[0-9a-f-]{32,}|\d+", "", name) for name in form.names)


def form_again(world: World, found: Found) -> PageForm | None:
    """The form on its page as that is now, if it is still there."""
    forms = forms_of(world, found.asker, found.page)
    return next((form for form in forms if known_by(form, found.page) == (found.target, found.alike)), None)


def filled(form: PageForm, target: str, number: int) -> dict[str, Any]:
    """What is sent: as the page has it, with something typed into each empty field that takes rows to be made."""
    changed = CHANGED.get(target, {})
    steps = [(name, value) for name, value in form.buttons if value == "save"] or form.buttons[:1]
    sent: dict[str, Any] = dict(form.sent) | dict(steps) | {name: changed[name] for name in changed if "_" not in name}
    for name in dict.fromkeys([*form.names, *sent]):
        ends = [end for end in TYPED if name == end or name.endswith(("-" + end, "_" + end))]
        value = next((changed[word] for word in changed if re.search(rf"(^|[-_]){word}($|_)", name)), None)
        if value is None and ends and not sent.get(name, "").strip():
            value = TYPED[max(ends, key=len)]
        if value in (FIRST, LAST):
            offers = [offer for offer in form.offers.get(name, []) if offer]
            sent[name] = (offers or [""])[0 if value is FIRST else -1]
        elif value is not None:
            sent[name] = value.format(n=number, field=name)
    return sent


def rows() -> Counter[str]:
    """How many rows of each kind there are."""
    return Counter(
        {
            model.__name__: model._default_manager.count()
            for label in ("participants", "trips")
            for model in apps.get_app_config(label).get_models()
            if model.__name__ not in COUNTED_ON_PURPOSE
        }
    )


def press(world: World, asker: str, path: str, data: dict[str, Any]) -> tuple[int, str]:
    client = world.client_of(asker)
    client.raise_request_exception = False
    answer = client.post(path, data)
    return answer.status_code, answer.headers.get("Location", "")


def at_once(world: World, asker: str, path: str, sent: list[dict[str, Any]]) -> list[tuple[int, str]]:
    """The answers to forms that are all sent at one moment, each over a connection of its own."""
    start, answers = Barrier(len(sent)), []

    def send(data: dict[str, Any]) -> None:
        try:
            connection.ensure_connection()
            start.wait()
            answers.append(press(world, asker, path, data))
        finally:
            connections.close_all()

    threads = [Thread(target=send, args=(data,)) for data in sent]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


@dataclass
class Races:
    """What came of the forms: addresses met, those whose forms make rows, those not saved at one press, and faults."""

    met: set[str] = field(default_factory=set)
    making: set[str] = field(default_factory=set)
    not_saved: set[str] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)

    def run(self, world: World, found: Found, number: int) -> None:
        """One press, undone; where it makes rows, two presses of one page, then one of each of two pages."""
        self.met.add(found.target)
        form, before = found.form, rows()
        status, made = self.pressed_and_undone(world, found, filled(form, found.target, number))
        if status == HTTPStatus.OK:  # the page of an earlier moment: other races went on since
            form = form_again(world, found) or form
            status, made = self.pressed_and_undone(world, found, filled(form, found.target, number))
        self.not_saved |= {found.target} if status == HTTPStatus.OK else set()
        if not made:
            return
        self.making.add(found.target)
        path, data = form.action or found.page, filled(form, found.target, number)
        answers = at_once(world, found.asker, path, [data, dict(data)])
        if len(set(answers)) != 1 or answers[0][0] != HTTPStatus.FOUND or rows() - before != made:
            self.faults.append(f"{found.target}: one page was answered {answers} and made {dict(rows() - before)}")
        again = form_again(world, found)
        data = filled(again, found.target, number + ANOTHER) if again else {}
        answers = at_once(world, found.asker, path, [data, data | {FORM_UUID: str(uuid.uuid4())}]) if data else []
        if any(status >= HTTPStatus.INTERNAL_SERVER_ERROR for status, _ in answers):
            self.faults.append(f"{found.target}: two pages were answered {answers}")

    def pressed_and_undone(self, world: World, found: Found, data: dict[str, Any]) -> tuple[int, Counter[str]]:
        """The status of the answer to one press, and the rows that it made."""
        before = rows()
        with transaction.atomic():
            status, _ = press(world, found.asker, found.form.action or found.page, data)
            made = rows() - before
            transaction.set_rollback(True)
        if status >= HTTPStatus.INTERNAL_SERVER_ERROR:
            self.faults.append(f"{found.target}: one press was answered {status}")
        return status, made


def race_every_form(rounds: int = ROUNDS) -> Races:
    """Every form that is found, each `rounds` times."""
    races, world = Races(), make_race_world()
    for found in forms_found(world):
        for number in range(rounds):
            races.run(world, found, number)
    return races


def races_told(rounds: int = ROUNDS) -> dict[str, list[str]]:
    """The same as lists."""
    return {name: sorted(found) for name, found in vars(race_every_form(rounds)).items()}
