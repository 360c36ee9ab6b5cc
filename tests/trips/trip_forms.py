"""Addresses of a trip."""

from django.urls import reverse


def url(name, trip):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid})
