"""Sessions of a trip."""

from django.urls import path

from trips.views import session as views

BASE = "trips/<uuid:trip_uuid>/sessions/"

urlpatterns = [
    path(BASE, views.session_list, name="session-list"),
    path(f"{BASE}make/", views.sessions_make, name="sessions-make"),
    path(f"{BASE}new/", views.session_new, name="session-new"),
    path(f"{BASE}<uuid:session_uuid>/", views.session_edit, name="session-edit"),
    path(f"{BASE}<uuid:session_uuid>/remove/", views.session_remove, name="session-remove"),
]
