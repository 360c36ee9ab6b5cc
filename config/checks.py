"""Start-up checks: each has an id and says what to do."""

from django.core.checks.registry import CheckRegistry


def register_all(registry: CheckRegistry) -> None:
    """Hand every check to Django."""
