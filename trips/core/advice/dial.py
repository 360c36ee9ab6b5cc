"""Values as marked on cameras, and what exposes what."""

import math

from participants.core.optics import exposure_value
from participants.core.units import need

BASE_ISO = 100  # assumed


_F_NUMBERS = (
    "1 1.1 1.2 1.4 1.6 1.8 2 2.2 2.5 2.8 3.2 3.5 4 4.5 5 5.6 6.3 7.1 8 9 10 11 13 14 16 18 20 22 25 29 32 36 40"
)
_SHUTTERS = (
    "8000 6400 5000 4000 3200 2500 2000 1600 1250 1000 800 640 500 400 320 250 200 160 125 100 80 60 50 40 30 25 20 15"
    " 13 10 8 6 5 4"
)
_ISOS = (
    "100 125 160 200 250 320 400 500 640 800 1000 1250 1600 2000 2500 3200 4000 5000 6400 8000 10000 12800 16000 20000"
    " 25600 32000 40000 51200 64000 80000 102400 128000 204800"
)
F_NUMBERS = tuple(float(mark) for mark in _F_NUMBERS.split())  # third stops as marked
SHUTTERS = tuple(int(mark) for mark in _SHUTTERS.split())  # one over ..., as marked
ISOS = tuple(int(mark) for mark in _ISOS.split())


def marked_f_number(f_number: float) -> float:
    """The marked third-stop f-number nearest to an exact one."""
    return min(F_NUMBERS, key=lambda mark: abs(math.log(mark / f_number)))


def marked_shutter(seconds: float) -> int:
    """One over the marked shutter that is no longer than `seconds` (a twentieth of a stop in hand)."""
    parts = [part for part in SHUTTERS if part * seconds >= 2.0 ** (-1 / 20)]
    return min(parts) if parts else SHUTTERS[0]


def marked_iso(iso: float) -> int:
    """The marked third-stop ISO nearest to an exact one, not below the base."""
    return min(ISOS, key=lambda mark: abs(math.log(mark / max(iso, BASE_ISO))))


def iso_needed(f_number: float, seconds: float, ev100: float, loss_stops: float = 0.0) -> float:
    """ISO that exposes f-number and time at that EV100; `loss_stops`: light lost close in."""
    return 100.0 * 2.0 ** (exposure_value(f_number, seconds) + loss_stops - need("ev100", ev100, -20.0, 25.0))


def longest_shutter_s(speed_m_s: float, scale: float, pitch_mm: float, pixels: float) -> float:
    """Longest time in which a subject of that speed smears at most that many pixels: n pitch / (m v)."""
    return pixels * pitch_mm / (scale * speed_m_s * 1000.0)
