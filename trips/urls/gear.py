"""Gear: a person's pages, and the group's table for the leader."""

from django.urls import path

from trips.views import gear, people_csv

MY = "my/<uuid:person_uuid>/kit/"
urlpatterns = [
    path(MY, gear.gear_show, name="gear-show"),
    path(f"{MY}picture/", gear.gear_picture, name="gear-picture"),
    path(f"{MY}picture/save/", gear.picture_save, name="picture-save"),
    path(f"{MY}add/<slug:kind>/", gear.piece_new, name="piece-new"),
    path(f"{MY}try/<slug:kind>/", gear.piece_try, name="piece-try"),
    path(f"{MY}<slug:kind>/<uuid:piece_uuid>/", gear.piece_edit, name="piece-edit"),
    path(f"{MY}<slug:kind>/<uuid:piece_uuid>/remove/", gear.piece_remove, name="piece-remove"),
    path("my/<uuid:person_uuid>/packing/", gear.packing_show, name="packing-show"),
    path("trips/<uuid:trip_uuid>/gear/", gear.gear_table, name="gear-table"),
    path("trips/<uuid:trip_uuid>/gear/kit.csv", people_csv.gear_export, name="gear-export"),
    path("trips/<uuid:trip_uuid>/people/people.csv", people_csv.people_export, name="people-export"),
    path("trips/<uuid:trip_uuid>/people/import/", people_csv.people_import, name="people-import"),
]
