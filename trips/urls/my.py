"""Addresses of participants' pages that know trips. All carry the person's uuid."""

from django.urls import path

from trips.views import my_days

BASE = "my/<uuid:person_uuid>/"

urlpatterns = [
    path(BASE, my_days.my_start, name="my-start"),
    path(f"{BASE}days/", my_days.my_days, name="my-days"),
    path(f"{BASE}days/read/", my_days.my_days_read, name="my-days-read"),
    path(f"{BASE}drawings/<uuid:session_uuid>/<int:number>.svg", my_days.my_drawing, name="my-drawing"),
]
