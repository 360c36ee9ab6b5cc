from typing import Any

from django.core import checks
from django.core.management.base import BaseCommand

from config.health import signs


class Command(BaseCommand):
    """What this server lacks, in sentences. Exit code 1 where something is missing."""

    help = "Say in sentences what this server lacks to serve people. Example: manage.py doctor"
    requires_system_checks: list[str] = []  # they are run below, and told in the same words as the rest

    def handle(self, *args: Any, **options: Any) -> None:
        lacking = [sign.advice for sign in signs() if not sign.well]
        alive = "Start the database server" not in " ".join(lacking)
        found = checks.run_checks(include_deployment_checks=True, databases=["default"] if alive else None)
        lacking += [f"{found_one.msg} {found_one.hint or ''}".strip() for found_one in found]
        for sentence in lacking:
            self.stdout.write(f"- {sentence}")
        if lacking:
            raise SystemExit(1)
        self.stdout.write("Nothing is missing.")
