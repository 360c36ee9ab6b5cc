"""A participant's forms, filled as a page sends them."""

from django.urls import reverse


def url(name, place):
    return reverse(f"trips:{name}", args=[place.participant.uuid])
