"""Hides and sessions of the base day."""

from dataclasses import replace

from trips.core.values import Hide, LightSettings, Point, View

POINT = Point(39.5, -6.2, 0.0, "Europe/Madrid")
DEFAULTS = LightSettings()


def hide(key: str, *bearings: float, **changes: object) -> Hide:
    views = tuple(View(f"{key}{number}", "view", bearing, 6.0, 6.0, 4.5) for number, bearing in enumerate(bearings))
    return replace(Hide(key, key.upper(), POINT, views, (), roof_height_m=0.5), **changes)  # type: ignore[arg-type]


A, B, C, D = hide("a", 250.0), hide("b", 100.0), hide("c", 250.0, 100.0), hide("d", 0.0)
