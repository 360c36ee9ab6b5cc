"""The day of an issued trip, its addresses and its clock."""

from django.urls import reverse

from tests import factories
from tests.frozen_clock import clock_of

START = factories.FIRST_START  # 06:45 at the site


def clock_at(moment):
    """The pages of the day look at a clock that shows this moment."""
    return clock_of("trips.views.day", moment)


def url(name, trip, session=None, **query):
    arguments = [trip.uuid] + ([session.uuid] if session else [])
    return reverse(f"trips:{name}", args=arguments, query=query or None)


def day(client, trip):
    return client.get(url("day-show", trip, day="2027-05-08")).content.decode()


def first_hide(trip):
    return trip.sites.get().hides.first()
