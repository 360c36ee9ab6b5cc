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
    path(f"{MY}<slug:kind>/<uuid:piece_uuid>/lost/", kit.piece_lost, name="piece-lost"),
    path(f"{MY}<slug:kind>/<uuid:piece_uuid>/found/", kit.piece_found, name="piece-found"),
    path("my/<uuid:person_uuid>/packing/", kit.packing_show, name="packing-show"),
    path("trips/<uuid:trip_uuid>/gear/", gear.gear_table, name="gear-table"),
    path("trips/<uuid:trip_uuid>/gear/away/", gear.gear_away_edit, name="gear-away-new"),
    path("trips/<uuid:trip_uuid>/gear/away/<uuid:away_uuid>/", gear.gear_away_edit, name="gear-away-edit"),
    path("trips/<uuid:trip_uuid>/gear/away/<uuid:away_uuid>/remove/", gear.gear_away_remove, name="gear-away-remove"),
    path("trips/<uuid:trip_uuid>/gear/kit.csv", people_csv.kit_export, name="kit-export"),
    path("trips/<uuid:trip_uuid>/people/people.csv", people_csv.people_export, name="people-export"),
    path("trips/<uuid:trip_uuid>/people/import/", people_csv.people_import, name="people-import"),
]
