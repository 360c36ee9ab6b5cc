"""Trips and their rules."""

from django.urls import path

from trips.views import default, glossary, scoring
from trips.views import trip as views

urlpatterns = [
    path("trips/", views.trip_list, name="trip-list"),
    path("trips/new/", views.trip_new, name="trip-new"),
    path("trips/<uuid:trip_uuid>/", views.trip_show, name="trip-show"),
    path("trips/<uuid:trip_uuid>/edit/", views.trip_edit, name="trip-edit"),
    path("trips/<uuid:trip_uuid>/rules/", views.rules_edit, name="rules-edit"),
    path("trips/<uuid:trip_uuid>/rules/defaults/", default.rules_default, name="rules-default"),
    path("trips/<uuid:trip_uuid>/scoring/", scoring.scoring_edit, name="scoring-edit"),
    path("trips/<uuid:trip_uuid>/scoring/defaults/", default.scoring_default, name="scoring-default"),
    path("words/", glossary.glossary, name="glossary"),
]
