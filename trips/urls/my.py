"""Addresses of participants' pages that know trips. All but the start carry the person's uuid."""

from django.urls import path

from trips.views import my_days

urlpatterns = [
    path("my/<uuid:person_uuid>/", my_days.my_start, name="my-start"),
]
