from django.apps import AppConfig


class TripsConfig(AppConfig):
    name = "trips"
    verbose_name = "Trips"
    default_auto_field = "django.db.models.BigAutoField"
