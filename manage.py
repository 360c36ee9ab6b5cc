#!/usr/bin/env python
"""Run a command of the project."""

import os
import sys


def main() -> None:
    """Hand the command line to Django; what is wrong with the set-up is said in one sentence."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    if sys.version_info < (3, 11):  # noqa: UP036 (said in words, before an import fails on new syntax)
        sys.exit(f"Python 3.11 or newer is needed, this one is {sys.version.split()[0]}: install a newer Python.")
    try:
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line

        from config.keys import require_secret_key_to_serve
    except ModuleNotFoundError as missing:
        sys.exit(
            f"The Python package {missing.name} is missing: run script/bootstrap, then .venv/bin/python manage.py."
        )
    try:
        require_secret_key_to_serve(sys.argv)
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as wrong:
        sys.exit(f"The settings are not complete: {wrong}")


if __name__ == "__main__":
    main()
