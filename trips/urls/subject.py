"""Subjects and how they come to hides; the seats of a trip."""

from django.urls import path

from trips.views import seat
from trips.views import subject as views

urlpatterns = [
    path("trips/<uuid:trip_uuid>/hides/seats/", seat.seat_table, name="seat-table"),
    path("subjects/", views.subject_list, name="subject-list"),
    path("subjects/new/", views.subject_new, name="subject-new"),
    path("subjects/<uuid:subject_uuid>/", views.subject_edit, name="subject-edit"),
    path("subjects/<uuid:subject_uuid>/remove/", views.subject_remove, name="subject-remove"),
    path("hides/<uuid:hide_uuid>/subjects/", views.hide_subjects, name="hide-subjects"),
]
