"""What cannot be driven because of where a driver sits: the hides that the planner keeps a driver out of.

A seat of a driver is judged with people in every hide that can be used, so that whoever else sits where later, fewer
drops at most are left. Where fewer drops make a drive harder, or where two drivers bring each other, that is not seen
here; `drive_faults` of the finished rota tells it.
"""

from trips.core.drives.faults import TOO_MANY, DriveFault, drive_faults
from trips.core.drives.plan import plan_drives
from trips.core.drives.values import Driving

Mark = tuple[object, ...]


def fault_marks(driving: Driving) -> frozenset[Mark]:
    """What tells the faults of drives apart, whoever rides."""
    return frozenset(_mark(fault) for fault in drive_faults(driving, plan_drives(driving)))


def faults_of_sitting(before: frozenset[Mark], after: Driving) -> tuple[DriveFault, ...]:
    """The faults that are new once a driver sits somewhere; `before`: those without, seats of cars are left out."""
    found = drive_faults(after, plan_drives(after))
    return tuple(fault for fault in found if fault.kind != TOO_MANY and _mark(fault) not in before)


def _mark(fault: DriveFault) -> Mark:
    return fault.kind, fault.drive.kind, fault.drive.run.key, fault.hide
