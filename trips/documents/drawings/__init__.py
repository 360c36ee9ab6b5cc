"""Drawings as SVG, used alike by pages and papers."""

from trips.documents.drawings.bar import light_bar, light_sample
from trips.documents.drawings.closing import closing_drawing
from trips.documents.drawings.scoring import scoring_drawing
from trips.documents.drawings.seat import SeatOptions, seat_drawing
from trips.documents.drawings.small import small_seat_drawing
from trips.documents.drawings.year import YearOptions, year_drawing
