"""What the sun does for a view: classes, scores, cautions. The doors of the package."""

from trips.core.light.geometry import CLASS_NAMES, Framing, frame_offsets_deg, light_angle_deg
from trips.core.light.results import Caution, Glance, Interval, Sample, SessionLight, ViewLight, counted_stretch
from trips.core.light.session import moment_scores, session_light, trip_light, trip_scores
from trips.core.light.year import YearMap, year_map, year_maps
