from typing import Any

from trips.management.plain_command import PlainCommand, write_bytes
from trips.services.trip_file.schema import SCHEMA_PATH, schema_text


class Command(PlainCommand):
    """For developers: write trips/trip_file.schema.json from the models."""

    examples = ("",)

    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        write_bytes(str(SCHEMA_PATH), schema_text().encode("utf-8"))
        SCHEMA_PATH.chmod(0o644)
        self.stdout.write(f"Wrote {SCHEMA_PATH.name}.")
