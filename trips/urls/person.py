"""People of a trip."""

from django.urls import path

from trips.views import person as views

BASE = "trips/<uuid:trip_uuid>/people/"
ONE = f"{BASE}<uuid:place_uuid>/"

urlpatterns = [
    path(BASE, views.person_list, name="person-list"),
    path(f"{BASE}new/", views.person_new, name="person-new"),
    path(f"{BASE}join/", views.person_join, name="person-join"),
    path(f"{BASE}pairings/", views.pairing_list, name="pairing-list"),
    path(f"{BASE}pairings/<uuid:pairing_uuid>/delete/", views.pairing_delete, name="pairing-delete"),
    path(ONE, views.person_edit, name="person-edit"),
    path(f"{ONE}place/", views.place_edit, name="place-edit"),
    path(f"{ONE}absences/", views.absences_edit, name="absences-edit"),
    path(f"{ONE}remove/", views.person_remove, name="person-remove"),
]
