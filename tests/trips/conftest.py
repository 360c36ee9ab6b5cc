"""Who and what most tests of pages need, out of the `trip` of the test's own file."""

import pytest
from django.test import Client

from participants.models import Participant
from tests.trips import paper_values
from tests.trips.gear_forms import signed_in
from tests.trips.issued_trips import phone_of
from tests.trips.rota_trips import planned
from trips.models import Hide, Place, Rota, Session, Site, Trip
from trips.services import print_jobs
from trips.services.pdf import job_pdf


@pytest.fixture(scope="session")
def briefing_pdf() -> bytes:
    """The briefing of eight turns, printed once for all tests that read it."""
    return job_pdf(print_jobs.briefing_job(paper_values.briefing()))


@pytest.fixture
def as_leader(client: Client, trip: Trip) -> Client:
    """The browser of the trip's leader."""
    client.force_login(trip.leader)
    return client


@pytest.fixture
def place(trip: Trip) -> Place:
    """The first place of the trip."""
    return trip.places.all()[0]


@pytest.fixture
def person(place: Place) -> Participant:
    """Whose place that is."""
    return place.participant


@pytest.fixture
def browser(person: Participant) -> Client:
    """A browser in which the person is signed in."""
    return signed_in(person)


@pytest.fixture
def phone(place: Place) -> Client:
    """A browser that the person's link signed in."""
    return phone_of(place.participant)


@pytest.fixture
def session(trip: Trip) -> Session:
    """The first session of the trip."""
    return trip.sessions.all()[0]


@pytest.fixture
def site(trip: Trip) -> Site:
    """The one site of the trip."""
    return trip.sites.get()


@pytest.fixture
def hide(site: Site) -> Hide:
    """The one hide there."""
    return site.hides.get()


@pytest.fixture
def rota(trip: Trip) -> Rota:
    """A draft that the planner made of the trip."""
    return planned(trip)
