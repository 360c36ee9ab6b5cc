"""All addresses of trips, by room of the house."""

from django.urls import URLPattern

from trips.urls import day, gear, hide, meal, my, papers, person, rota, session, subject, trip

app_name = "trips"
urlpatterns: list[URLPattern] = [
    *trip.urlpatterns,
    *person.urlpatterns,
    *session.urlpatterns,
    *meal.urlpatterns,
    *rota.urlpatterns,
    *day.urlpatterns,
    *my.urlpatterns,
    *gear.urlpatterns,
    *hide.urlpatterns,
    *subject.urlpatterns,
    *papers.urlpatterns,
]
