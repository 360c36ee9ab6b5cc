"""Gear: a person's pages, and the group's table for the leader."""

from django.urls import path

from trips.views import gear, kit, people_csv

MY = "my/<uuid:person_uuid>/kit/"
urlpatterns = [
    path(MY, kit.kit_show, name="kit-show"),
    path(f"{MY}picture/", kit.kit_picture, name="kit-picture"),
    path(f"{MY}picture/save/", kit.picture_save, name="picture-save"),
    path(f"{MY}add/<slug:kind>/", kit.piece_new, name="piece-new"),
    path(f"{MY}try/<slug:kind>/", kit.piece_try, name="piece-try"),
    path(f"{MY}<slug:kind>/<uuid:piece_uuid>/", kit.piece_edit, name="piece-edit"),
    path(f"{MY}<slug:kind>/<uuid:piece_uuid>/remove/", kit.piece_remove, name="piece-remove"),
    path("my/<uuid:person_uuid>/packing/", kit.packing_show, name="packing-show"),
    path("trips/<uuid:trip_uuid>/gear/", gear.gear_table, name="gear-table"),
    path("trips/<uuid:trip_uuid>/gear/kit.csv", people_csv.kit_export, name="kit-export"),
    path("trips/<uuid:trip_uuid>/people/people.csv", people_csv.people_export, name="people-export"),
    path("trips/<uuid:trip_uuid>/people/import/", people_csv.people_import, name="people-import"),
]
