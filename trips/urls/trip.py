"""Trips and their rules."""

from django.urls import path

from trips.views import default, glossary, marks
from trips.views import trip as views

urlpatterns = [
    path("trips/", views.trip_list, name="trip-list"),
    path("trips/new/", views.trip_new, name="trip-new"),
    path("trips/<uuid:trip_uuid>/", views.trip_show, name="trip-show"),
    path("trips/<uuid:trip_uuid>/edit/", views.trip_edit, name="trip-edit"),
    path("trips/<uuid:trip_uuid>/rules/", views.rules_edit, name="rules-edit"),
    path("trips/<uuid:trip_uuid>/rules/defaults/", default.rules_default, name="rules-default"),
    path("trips/<uuid:trip_uuid>/marks/", marks.marks_edit, name="marks-edit"),
    path("trips/<uuid:trip_uuid>/marks/defaults/", default.marks_default, name="marks-default"),
    path("leader/", views.leader_edit, name="leader-edit"),
    path("words/", glossary.glossary, name="glossary"),
]
