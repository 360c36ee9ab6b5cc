"""All addresses of trips, by room of the house."""

from django.urls import URLPattern

from trips.urls import my, trip

app_name = "trips"
urlpatterns: list[URLPattern] = [
    *trip.urlpatterns,
    *my.urlpatterns,
]
