"""The starter list of subjects (`trips/species.csv`, from memory): names by language and typical lengths."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from trips.models import Subject

LIST_FILE = Path(__file__).resolve().parents[1] / "species.csv"


@dataclass(frozen=True)
class Species:
    """One line of the list. `names`: (language, name) in the languages besides English."""

    name: str
    scientific_name: str
    names: tuple[tuple[str, str], ...]
    length_min_cm: float
    length_max_cm: float
    standing_height_cm: float | None
    speed: str
    tone: str


@cache
def starter_list() -> tuple[Species, ...]:
    """All of them, by English name."""
    with LIST_FILE.open(encoding="utf-8", newline="") as file:
        rows = [*csv.DictReader(line for line in file if not line.startswith("#"))]
    return tuple(sorted((_species(row) for row in rows), key=lambda one: one.name))


def species_called(*names: str) -> Species | None:
    """The species that has the first of these names which the list knows, scientific or in any language."""
    return next((found for name in names if (found := _by_name().get(name.strip().casefold()))), None)


def names_of(subject: Subject) -> tuple[tuple[str, str], ...]:
    """(language, name) of a subject: as its leader typed them, otherwise as the list has them."""
    listed = species_called(subject.scientific_name, subject.name)
    typed = {language: name for language, name in subject.other_names.items() if isinstance(name, str) and name}
    return tuple(sorted((dict(listed.names if listed else ()) | typed).items()))


@cache
def _by_name() -> dict[str, Species]:
    pairs = [(one, (one.name, one.scientific_name, *(name for _language, name in one.names))) for one in starter_list()]
    return {name.casefold(): one for one, names in pairs for name in names}


def _species(row: dict[str, str]) -> Species:
    return Species(
        name=row["english"],
        scientific_name=row["scientific"],
        names=(("de", row["german"]), ("es", row["spanish"])),
        length_min_cm=float(row["length_min_cm"]),
        length_max_cm=float(row["length_max_cm"]),
        standing_height_cm=float(row["standing_cm"]) if row["standing_cm"] else None,
        speed=row["speed"],
        tone=row["tone"],
    )
