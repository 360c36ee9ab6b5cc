"""One trip as one JSON file: every row of the trip, lossless, byte-stable.

Doors: `trip_file_bytes` (a trip as a file), `trip_file_import` (a file as a trip), `TripFileRefused` (what is wrong).
"""

from trips.services.trip_file.exporting import trip_file_bytes
from trips.services.trip_file.importing import ImportedTrip, trip_file_import
from trips.services.trip_file.problems import FileFault, TripFileRefused
