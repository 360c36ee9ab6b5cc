from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """The house itself: settings, start-up checks, sign-in, look."""

    name = "config"
    verbose_name = "House"

    def ready(self) -> None:
        """Register the start-up checks."""
        from django.core import checks as framework

        from config import checks

        checks.register_all(framework.registry.registry)
