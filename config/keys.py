"""The secret key: what serves people needs one that lasts."""

from collections.abc import Sequence

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

SERVING_COMMANDS = ("runserver", "db_worker")


def require_secret_key_to_serve(arguments: Sequence[str]) -> None:
    """The same for a command line: manage.py's first argument is the command."""
    if set(arguments[1:2]) & set(SERVING_COMMANDS):
        require_secret_key()


def require_secret_key() -> None:
    """Refuse to serve with a key that is thrown away: links, sessions and feeds would die with the process."""
    if settings.SECRET_KEY_IS_THROW_AWAY:
        raise ImproperlyConfigured(
            "SECRET_KEY is not set; put a long random text into the environment variable SECRET_KEY "
            "and keep it, or run script/demo to only look."
        )
