"""Meals of a trip."""

from django.urls import path

from trips.views import meal as views

BASE = "trips/<uuid:trip_uuid>/meals/"

urlpatterns = [
    path(BASE, views.meal_list, name="meal-list"),
    path(f"{BASE}copy/", views.meals_copy_days, name="meals-copy"),
    path(f"{BASE}<uuid:meal_uuid>/", views.meal_edit, name="meal-edit"),
    path(f"{BASE}<uuid:meal_uuid>/remove/", views.meal_remove, name="meal-remove"),
]
