from django.apps import AppConfig

from config import checks


class ConfigConfig(AppConfig):
    """The house itself: settings, start-up checks, sign-in, look."""

    name = "config"
    verbose_name = "House"

    def ready(self) -> None:
        """Register the start-up checks."""
        checks.register_all()
