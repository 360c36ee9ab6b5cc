from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from config import catalogues


class Command(BaseCommand):
    """Keep the translations: `update` after you change a sentence, `compile` before pages can show them."""

    help = "Update the catalogues in locale/ from the sources, or compile them. Example: manage.py messages update"
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("step", choices=["update", "compile"])

    def handle(self, *args: Any, **options: Any) -> None:
        if options["step"] == "update":
            catalogues.update()
        catalogues.compile_all()
