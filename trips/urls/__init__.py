"""All addresses of trips, by room of the house."""

from django.urls import URLPattern

app_name = "trips"
urlpatterns: list[URLPattern] = []
