"""A participant's days as pages."""

from django.urls import reverse

from tests.trips.issued_trips import phone_of


def days(place):
    return reverse("trips:my-days", args=[place.participant.uuid])


def page_of(place, client=None):
    return (client or phone_of(place.participant)).get(days(place)).content.decode()
