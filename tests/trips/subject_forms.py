"""Addresses and filled forms of subjects, chances and seats."""

from django.urls import reverse


def chances_url(hide):
    return reverse("trips:hide-subjects", kwargs={"hide_uuid": hide.uuid})


def seats_url(trip):
    return reverse("trips:seat-table", kwargs={"trip_uuid": trip.uuid})


def subject_data(**changes):
    return {"name": "Hoopoe", "length_min_cm": "25", "length_max_cm": "29", "speed": "feeding"} | changes
