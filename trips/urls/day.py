"""On the day: cars, the availability, who is out and back."""

from django.urls import path

from trips.views import day as views

BASE = "trips/<uuid:trip_uuid>/day/"
ONE = f"{BASE}<uuid:session_uuid>/"

urlpatterns = [
    path(BASE, views.day_show, name="day-show"),
    path("trips/<uuid:trip_uuid>/cars/", views.cars_edit, name="cars-edit"),
    path(f"{ONE}owner/", views.availability_edit, name="availability-edit"),
    path(f"{ONE}rounds/", views.runs_edit, name="runs-edit"),
    path(f"{ONE}out/", views.out_show, name="out-show"),
    path(f"{ONE}out/tick/", views.out_tick, name="out-tick"),
]
