"""The cars' rounds: when each leaves, where it is when, when it is back, and what of it cannot be driven."""

from trips.core.drives.driver_seats import fault_marks, faults_of_sitting
from trips.core.drives.faults import Away, DriveFault, aways, drive_faults
from trips.core.drives.plan import plan_drives
from trips.core.drives.remedies import Remedy, remedy_for
from trips.core.drives.rounds import driver_hide, in_driving_order, with_untyped
from trips.core.drives.values import Car, Drive, DriveRules, Driving, Run, Sit, Stop, Visit
from trips.core.drives.windows import InPlaceRule, PickUp, in_place_time, pick_up_window
