"""All addresses of trips, by room of the house."""

from django.urls import URLPattern

from trips.urls import my, session, trip

app_name = "trips"
urlpatterns: list[URLPattern] = [
    *trip.urlpatterns,
    *session.urlpatterns,
    *my.urlpatterns,
]
