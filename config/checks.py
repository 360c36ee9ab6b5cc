"""Start-up checks: each has an id and says what to do."""


def register_all() -> None:
    """Hand every check to Django."""
