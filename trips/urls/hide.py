"""Sites, hides and their light."""

from django.urls import path

from trips.views import estate, light, survey
from trips.views import hide as views

urlpatterns = [
    path("trips/<uuid:trip_uuid>/hides/", views.trip_hides, name="trip-hides"),
    path("trips/<uuid:trip_uuid>/light/", light.trip_light, name="trip-light"),
    path("sites/new/", views.site_new, name="site-new"),
    path("sites/<uuid:site_uuid>/", views.site_edit, name="site-edit"),
    path("sites/<uuid:site_uuid>/planners/give/", estate.planner_allow, name="planner-allow"),
    path("sites/<uuid:site_uuid>/planners/withdraw/", estate.planner_refuse, name="planner-refuse"),
    path("sites/<uuid:site_uuid>/calendar/", estate.site_address, name="site-address"),
    path("sites/<uuid:site_uuid>/hides/new/", views.hide_new, name="hide-new"),
    path("hides/<uuid:hide_uuid>/", views.hide_edit, name="hide-edit"),
    path("hides/<uuid:hide_uuid>/light/", light.hide_light, name="hide-light"),
    path("hides/<uuid:hide_uuid>/remove/", views.hide_remove, name="hide-remove"),
    path("hides/<uuid:hide_uuid>/survey/", survey.hide_survey, name="hide-survey"),
    path("contact.json", survey.leader_contact, name="leader-contact"),
]
