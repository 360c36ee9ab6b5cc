"""What leaders read of the drives: faults with what would help."""

from collections.abc import Iterator
from dataclasses import dataclass

from trips.assemble.drives import TripDrives
from trips.core.drives import DriveFault, remedy_for
from trips.documents.wording.drives import fault_sentence, remedy_sentence

MOST_REMEDIES = 12  # a remedy is tried out, which takes its time


@dataclass(frozen=True, slots=True)
class DriveTold:
    """A fault in words, and what would help."""

    fault: str
    remedy: str


def drives_told(drives: TripDrives, session: int) -> Iterator[DriveTold]:
    """The faults of a session (its row id); those beyond the first dozen without a remedy that was tried out."""
    told: dict[tuple[object, ...], DriveFault] = {}
    for fault in drives.faults.get(session, ()):  # out and back alike: told once
        told.setdefault((fault.kind, fault.drive.run.key, fault.hide, fault.people), fault)
    for number, fault in enumerate(told.values()):
        tried = number < MOST_REMEDIES
        remedy = remedy_for(drives.driving, fault, drives.spare_drivers) if tried else None
        names = drives.names
        yield DriveTold(fault_sentence(fault, names), remedy_sentence(fault, remedy, names))
