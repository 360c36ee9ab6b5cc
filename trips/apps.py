from django.apps import AppConfig


class TripsConfig(AppConfig):
    name = "trips"
    verbose_name = "Trips"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have trips notice what is taken out of them."""
        from trips.removals import watch_removals

        watch_removals()
