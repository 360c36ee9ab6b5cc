"""Ids in the body of a form: rows of another leader's trip are refused, wherever a form names rows by their numbers."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.contrib import admin
from django.forms.models import model_to_dict
from django.test import Client
from django.urls import reverse

from tests import factories
from tests.trips.issued_trips import issued_trip, seated_rota
from tests.trips.made_once import made_once
from trips import models
from trips.forms.my import WishesForm
from trips.forms.person import AbsencesForm
from trips.forms.stale import fields_mark
from trips.selectors.my_wishes import hides_to_wish, subjects_to_wish

pytestmark = pytest.mark.django_db


VIEW = {"bearing_deg": 1, "bearing_is": "true", "measured_on": "2027-05-08", "near_m": 2, "far_m": 3}


@dataclass(frozen=True)
class Two:
    """A trip, its draft, and somebody else's trip with the same in it."""

    own: models.Trip
    draft: models.Rota
    foreign: models.Trip


def make_two() -> Two:
    own, foreign = issued_trip(people=2, hides=1, sessions=1), issued_trip(people=2, hides=1, sessions=1)
    for trip in (own, foreign):
        trip.cars.create(name="van", seats=8)
        factories.seat(hide=hide_of(trip), name="third")
    return Two(own, seated_rota(own), foreign)


two = made_once(make_two)


def hide_of(trip: models.Trip) -> models.Hide:
    return trip.sites.get().hides.get()


def lines(prefix: str, row: Any, **cells: Any) -> dict[str, Any]:
    """A set of one line that claims to be `row`."""
    counts = {f"{prefix}-TOTAL_FORMS": 1, f"{prefix}-INITIAL_FORMS": 1}
    return counts | {f"{prefix}-0-{name}": value for name, value in ({"id": row.pk} | cells).items()}


def trip_days(two: Two) -> dict[str, Any]:
    days = {"starts_on": two.own.starts_on.isoformat(), "ends_on": two.own.ends_on.isoformat()}
    return days | {"name": two.own.name, "units": "metric", "seen_version": two.own.version, "co_leaders": ""}


def sites(two: Two) -> tuple[str, dict[str, Any]]:
    return reverse("trips:trip-edit", args=[two.own.uuid]), trip_days(two) | {
        "sites": [two.own.sites.get().pk, two.foreign.sites.get().pk]
    }


def session_site(two: Two) -> tuple[str, dict[str, Any]]:
    session = two.own.sessions.get()
    data = {"site": two.foreign.sites.get().pk, "kind": "early", "sky": session.sky, "seen_version": session.version}
    data |= {"starts_at_day": "2027-05-08", "starts_at_clock": "06:50", "ends_at_day": "2027-05-08"}
    return reverse("trips:session-edit", args=[two.own.uuid, session.uuid]), data | {
        "ends_at_clock": "10:45",
        "rests_allowed": 0,
    }


def person(two: Two) -> tuple[str, dict[str, Any]]:
    theirs = two.foreign.places.last().participant.pk
    return reverse("trips:person-join", args=[two.own.uuid]), {"participant": theirs}


def helped(two: Two) -> tuple[str, dict[str, Any]]:
    place = two.own.places.first()
    data = {"state": "confirmed", "helps": two.foreign.places.last().pk, "seen_version": place.version}
    return reverse("trips:place-edit", args=[two.own.uuid, place.uuid]), data


def pairing(two: Two) -> tuple[str, dict[str, Any]]:
    data = {"first": two.own.places.first().pk, "kind": "apart", "second": two.foreign.places.last().pk}
    return reverse("trips:pairing-list", args=[two.own.uuid]), data


def loan(two: Two) -> tuple[str, dict[str, Any]]:
    own, theirs = two.own.places.first().participant.lenses.get(), two.foreign.places.last()
    data = {"piece": f"lens:{own.uuid}", "what": "lent", "borrower": theirs.pk}
    return reverse("trips:gear-away-new", args=[two.own.uuid]), data | {"from_session": two.foreign.sessions.get().pk}


def lent(two: Two) -> tuple[str, dict[str, Any]]:
    theirs = two.foreign.places.last().participant.lenses.get()
    data = {"piece": f"lens:{theirs.uuid}", "what": "lost", "from_session": two.own.sessions.get().pk}
    return reverse("trips:gear-away-new", args=[two.own.uuid]), data


def absence(two: Two) -> tuple[str, dict[str, Any]]:
    place = two.own.places.first()
    address = reverse("trips:absences-edit", args=[two.own.uuid, place.uuid])
    return address, {"sessions": [two.foreign.sessions.get().pk], "seen_fields": fields_mark(AbsencesForm(place=place))}


def seats(two: Two) -> tuple[str, dict[str, Any]]:
    hide = hide_of(two.own)
    data = lines(f"hide{hide.pk}", hide_of(two.foreign).seats.first(), name="taken", quality=3)
    return reverse("trips:seat-table", args=[two.own.uuid]), data | {f"hide{hide.pk}-seen_version": hide.version}


def hides_seats(two: Two) -> tuple[str, dict[str, Any]]:
    """All hides of the other trip, as their own table would post them."""
    hide = hide_of(two.foreign)
    data = lines(f"hide{hide.pk}", hide.seats.first(), name="taken", quality=3)
    return reverse("trips:seat-table", args=[two.own.uuid]), data | {f"hide{hide.pk}-seen_version": hide.version}


def view(two: Two) -> tuple[str, dict[str, Any]]:
    hide = hide_of(two.own)
    data = lines("seat", hide_of(two.foreign).seats.first(), name="taken", quality=3)
    data |= lines("view", hide_of(two.foreign).views.first(), name="taken", **VIEW)
    return reverse("trips:hide-edit", args=[hide.uuid]), data | hide_sent(hide)


def hide_sent(hide: models.Hide) -> dict[str, Any]:
    """What the form of a hide sends as it stands."""
    sent = {name: value for name, value in model_to_dict(hide).items() if value is not None and value is not False}
    return sent | {"seen_version": hide.version}


def measured(two: Two) -> tuple[str, dict[str, Any]]:
    view = hide_of(two.foreign).views.first()
    typed = {f"view{view.pk}-{name}": value for name, value in (VIEW | {"seen_version": view.version}).items()}
    return reverse("trips:hide-survey", args=[hide_of(two.own).uuid]), typed | {"about": view.uuid}


def subject(two: Two) -> tuple[str, dict[str, Any]]:
    hide, theirs = hide_of(two.own), hide_of(two.foreign).hide_subjects.get()
    data = {"chance-TOTAL_FORMS": 0, "chance-INITIAL_FORMS": 0, "also": [theirs.subject.pk]}
    return reverse("trips:hide-subjects", args=[hide.uuid]), data | {"seen_version": hide.version}


def chance(two: Two) -> tuple[str, dict[str, Any]]:
    hide = hide_of(two.own)
    data = lines("chance", hide_of(two.foreign).hide_subjects.get(), early="rarely", DELETE="on")
    return reverse("trips:hide-subjects", args=[hide.uuid]), data | {"seen_version": hide.version}


def wish(two: Two) -> tuple[str, dict[str, Any]]:
    theirs = hide_of(two.foreign)
    place = two.own.places.first()
    data = {"output": "web", "again": [theirs.pk], f"votes_{theirs.hide_subjects.get().subject.uuid.hex}": 6}
    data |= {"company_with": two.foreign.places.last().pk, "company_how": "apart"}
    form = WishesForm(place=place, subjects=subjects_to_wish(place), hides=hides_to_wish(place))
    data |= {"seen_fields": fields_mark(form)}
    return reverse("trips:my-wishes", args=[place.participant.uuid]), data


def run(two: Two) -> tuple[str, dict[str, Any]]:
    session = two.own.sessions.get()
    data = {f"stop-{hide_of(trip).uuid}-car": two.foreign.cars.get().pk for trip in (two.own, two.foreign)}
    return reverse("trips:runs-edit", args=[two.own.uuid, session.uuid]), data


def car(two: Two) -> tuple[str, dict[str, Any]]:
    data = lines("car", two.foreign.cars.get(), name="taken", seats=1, DELETE="on")
    return reverse("trips:cars-edit", args=[two.own.uuid]), data


def owners_say(two: Two) -> tuple[str, dict[str, Any]]:
    prefix = f"hide-{hide_of(two.foreign).uuid}"
    data = {f"{prefix}-state": "unavailable", f"{prefix}-reason": "taken", f"{prefix}-seen_version": 0}
    return reverse("trips:availability-edit", args=[two.own.uuid, two.own.sessions.get().uuid]), data


def tick(two: Two) -> tuple[str, dict[str, Any]]:
    data = {"who": f"place-{two.foreign.places.last().uuid}", "what": "out"}
    return reverse("trips:out-tick", args=[two.own.uuid, two.own.sessions.get().uuid]), data


def turn(two: Two) -> tuple[str, dict[str, Any]]:
    seat = hide_of(two.foreign).seats.get(name="third")
    parts = [two.own.uuid, two.draft.number, two.own.sessions.get().uuid, two.own.places.first().uuid]
    return reverse("trips:turn-edit", args=parts), {
        "kind": "move",
        "seat": seat.pk,
        "step": "save",
        "seen_version": two.draft.version,
    }


def swap(two: Two) -> tuple[str, dict[str, Any]]:
    address, _ = turn(two)
    return address, {
        "kind": "swap",
        "other": two.foreign.places.last().pk,
        "step": "save",
        "seen_version": two.draft.version,
    }


def calendar(two: Two) -> tuple[str, dict[str, Any]]:
    data = {"kind": "feed_owner", "owner_uuid": two.foreign.sites.get().uuid}
    return reverse("trips:papers-address", args=[two.own.uuid]), data


BODIES: tuple[Callable[[Two], tuple[str, dict[str, Any]]], ...] = (
    *(
        sites,
        session_site,
        person,
        helped,
        pairing,
        loan,
        lent,
        absence,
        seats,
        hides_seats,
        view,
        measured,
        subject,
        chance,
    ),
    *(wish, run, car, owners_say, tick, turn, swap, calendar),
)


# Naming what is theirs already changes nothing there.
UNCHANGED = (sites, person, subject, calendar)


def state_of(trip: models.Trip) -> dict[str, Any]:
    """All rows that a trip and its estate are made of, and who of elsewhere names one of them."""
    site, places = trip.sites.get(), trip.places.all()
    of_hide = [models.Seat, models.View, models.HideSubject, models.Again, models.SessionHide, models.Turn]
    found = {model.__name__: model.objects.filter(hide__site=site) for model in (*of_hide, models.RunStop)}
    found |= {model.__name__: model.objects.filter(place__in=places) for model in (models.Happening, models.Absence)}
    found |= {"Wish": models.Wish.objects.filter(subject__leader=trip.leader), "Car": trip.cars, "Site": site.trips}
    found |= {
        "helped": models.Place.objects.filter(helps__in=places),
        "Run": models.Run.objects.filter(car__in=trip.cars.all()),
    }
    found |= {"GearAway": models.GearAway.objects.filter(trip=trip)}
    found |= {"Session": site.sessions, "Place": models.Place.objects.filter(participant__leader=trip.leader)}
    found |= {
        "Pairing": models.Pairing.objects.filter(first__in=places) | models.Pairing.objects.filter(second__in=places)
    }
    found |= {"subjects": models.HideSubject.objects.filter(subject__leader=trip.leader)}
    return {name: list(rows.order_by("pk").values()) for name, rows in found.items()}


@pytest.mark.parametrize("asker", ["leader", "co_leader"])
@pytest.mark.parametrize("body", BODIES, ids=lambda body: body.__name__)
def test_a_form_takes_no_row_of_somebody_elses_trip(two: Two, body: Any, asker: str) -> None:
    user = two.own.leader if asker == "leader" else factories.leader()
    if asker == "co_leader":
        two.own.co_leaders.add(user)
    client = Client()
    client.force_login(user)
    before = state_of(two.foreign)
    address, data = body(two)
    answer = client.post(address, data)
    assert answer.status_code in (200, 302, 404)
    assert state_of(two.foreign) == before


@pytest.mark.parametrize("body", [one for one in BODIES if one not in UNCHANGED], ids=lambda body: body.__name__)
def test_the_same_form_with_rows_of_the_own_trip_is_taken(two: Two, body: Any) -> None:
    """Otherwise the test above could not fail."""
    client = Client()
    client.force_login(two.own.leader)
    before = state_of(two.own)
    address, data = body(Two(two.own, two.draft, two.own))
    answer = client.post(address, data)
    forms = [answer.context[name].errors for name in ("form",) if answer.context and name in answer.context]
    assert state_of(two.own) != before, forms


def test_somebody_of_the_staff_without_rights_opens_nothing_in_the_admin() -> None:
    client = Client()
    client.force_login(factories.leader(is_staff=True))
    for model in admin.site._registry:
        where = f"admin:{model._meta.app_label}_{model._meta.model_name}"
        assert client.get(reverse(f"{where}_changelist")).status_code == 403
        assert client.post(reverse(f"{where}_add")).status_code == 403
