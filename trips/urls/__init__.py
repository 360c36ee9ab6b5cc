"""All addresses of trips, by room of the house."""

from django.urls import URLPattern

from trips.urls import kit, my, person, session, trip

app_name = "trips"
urlpatterns: list[URLPattern] = [
    *trip.urlpatterns,
    *person.urlpatterns,
    *session.urlpatterns,
    *my.urlpatterns,
    *kit.urlpatterns,
]
