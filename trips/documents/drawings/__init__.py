"""Drawings as SVG, used alike by pages and papers."""

from trips.documents.drawings.closing import closing_drawing
from trips.documents.drawings.marks import marks_drawing
from trips.documents.drawings.seat import SeatOptions, seat_drawing
from trips.documents.drawings.small import small_seat_drawing
from trips.documents.drawings.year import YearOptions, year_drawing

__all__ = [
    "SeatOptions",
    "YearOptions",
    "closing_drawing",
    "marks_drawing",
    "seat_drawing",
    "small_seat_drawing",
    "year_drawing",
]
