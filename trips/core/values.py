"""The trip as plain values: what the core computes with. Angles in degrees from true north, clockwise."""

from dataclasses import dataclass, field
from datetime import datetime

from participants.core.language import named
from trips.core.rota.problem.values import Limits

SESSION_KINDS = ("early", "midday", "late", "night")
SKIES = ("clear", "partly", "overcast")
LIGHT_WISHES = ("front", "side", "back", "any")
OUTPUTS = ("web", "30x20", "a3")
TONES = ("light", "middle", "dark")


@dataclass(frozen=True, slots=True)
class Point:
    """A place on the earth with its civil time zone (an IANA name)."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    time_zone: str


@dataclass(frozen=True, slots=True)
class View:
    """One opening of a hide that people photograph through.

    `bearing_deg`: the lens axis, seat to subject, true. `near_m` <= `far_m`: where subjects stand, from the sensor.
    `horizon`: ((azimuth, height), ...) in degrees, by azimuth; empty = open horizon, assumed.
    `glass_loss_stops`: 0 open. `light_offset_stops`: learnt correction of the expected light.
    `assumed`: names of the fields nobody measured.
    """

    key: str
    name: str
    bearing_deg: float
    near_m: float
    far_m: float
    water_edge_m: float | None = None
    perch_height_m: float = 0.0
    glass_loss_stops: float = 0.0
    light_offset_stops: float = 0.0
    horizon: tuple[tuple[float, float], ...] = ()
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Seat:
    """One person's position; `quality` 1 (poor) to 5 (best); out of use from a moment on, or None."""

    key: str
    name: str
    quality: int = 3
    defects: str = ""
    out_of_use_from: datetime | None = None


@dataclass(frozen=True, slots=True)
class Chance:
    """How likely a subject comes to a hide, 0-1 by kind of session (already filled in and adjusted to the month)."""

    subject: str
    early: float
    midday: float
    late: float
    night: float

    def at(self, kind: str) -> float:
        """The chance in a session of that kind (one of SESSION_KINDS)."""
        return float(getattr(self, kind))


@dataclass(frozen=True, slots=True)
class Hide:
    """A hide with its views and seats. `roof_height_m` None: casts no shadow; `width_m` in metres."""

    key: str
    name: str
    point: Point
    views: tuple[View, ...]
    seats: tuple[Seat, ...]
    chances: tuple[Chance, ...] = ()
    roof_height_m: float | None = None
    width_m: float = 3.0
    sunken: bool = False
    entry: str = "walk"
    steps: int = 0
    seat_height_m: float | None = None
    walk_m: float = 0.0
    walk_min: float = 0.0
    drive_min: float = 0.0
    doors: str = "free"
    minimum_people: int = 1
    sought_after: bool = False
    support: str = "tripod"
    scent_matters: bool = False
    lamp_lit: bool = False
    excess_c: float | None = None
    fan: bool = False
    in_place_min_before_sunrise: float | None = None
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Subject:
    """A species wanted on the trip: length in centimetres, from smallest to largest adult.

    `speed`: what it does when it moves; `tone`: light, middle or dark, as a meter sees it; `names`: (language, name).
    """

    key: str
    name: str
    length_min_cm: float
    length_max_cm: float
    standing_height_cm: float | None = None
    speed: str = "feeding"
    tone: str = "middle"
    names: tuple[tuple[str, str], ...] = ()

    @property
    def said(self) -> str:
        """Its name in the language in use."""
        return named(self.name, self.names)


@dataclass(frozen=True, slots=True)
class HourForecast:
    """Air in the shade at a moment: temperature in Celsius, relative humidity in per cent (None unknown)."""

    moment: datetime
    air_c: float
    humidity_pct: float | None = None


@dataclass(frozen=True, slots=True)
class Session:
    """One stretch in the hides; aware datetimes; may cross midnight."""

    key: str
    name: str
    starts_at: datetime
    ends_at: datetime
    kind: str = "early"
    sky: str = "clear"
    wind_from_deg: float | None = None
    heat_limit_c: float | None = None
    forecast: tuple[HourForecast, ...] = ()


@dataclass(frozen=True, slots=True)
class LightSettings:
    """The scoring of light: its classes and the factors of the score; the defaults are the documented ones."""

    front_deg: float = 45.0
    side_deg: float = 120.0
    top_deg: float = 50.0
    height_scoring: tuple[tuple[float, float], ...] = (
        (-6.0, 0.0),
        (-4.0, 0.25),
        (-0.83, 0.5),
        (2.0, 0.9),
        (6.0, 1.0),
        (12.0, 1.0),
        (20.0, 0.8),
        (30.0, 0.5),
        (45.0, 0.25),
        (60.0, 0.15),
        (90.0, 0.1),
    )
    wish_front: tuple[float, float, float, float] = (1.0, 1.0, 0.5, 0.1)
    wish_side: tuple[float, float, float, float] = (0.5, 0.75, 1.0, 0.3)
    wish_back: tuple[float, float, float, float] = (0.2, 0.35, 0.5, 1.0)
    ev_low: float = 7.0
    ev_span: float = 2.0
    shade_factor: float = 0.3
    overcast_factor: float = 0.4
    lamp_score: float = 0.8
    best_samples: int = 18
    step_min: float = 5.0
    good_score: float = 0.6
    good_minutes: float = 60.0
    frame_focal_mm: float = 600.0


@dataclass(frozen=True, slots=True)
class ReachSettings:
    """Bands of fill and pixels; pixels needed along the subject by what the person wants to make of it."""

    crop_below: float = 0.30
    tight_above: float = 0.70
    portrait_above: float = 1.00
    least_pixels: int = 960
    pixels_web: int = 960
    pixels_30x20: int = 1417
    pixels_a3: int = 1984
    factors: tuple[tuple[str, float], ...] = (
        ("good", 1.0),
        ("tight", 0.85),
        ("needs_crop", 0.7),
        ("portrait_only", 0.6),
        ("small_file", 0.5),
        ("out_of_reach", 0.3),
        ("fault", 0.0),
    )

    def factor(self, verdict: str) -> float:
        """The factor R of a verdict, 0-1."""
        return dict(self.factors)[verdict]


@dataclass(frozen=True, slots=True)
class AdviceSettings:
    """Settings of the advice: working shutters in seconds, acceptable ISO, blur allowed in pixels of the output.

    `shortest_s`: no shutter is computed shorter than this; `panning_left`: the part of a flight's speed that is left
    across the frame when the lens follows it; `narrowest_f`: surplus light stops down to here before it shortens the
    shutter. All common practice, no source.
    """

    shutter_s: float = 1 / 2000
    slow_shutter_s: float = 1 / 1000
    shortest_s: float = 1 / 4000
    panning_left: float = 0.25
    narrowest_f: float = 11.0
    blur_pixels: float = 3.0
    iso_good: int = 3200
    iso_top_default: int = 6400


@dataclass(frozen=True, slots=True)
class Rules(Limits):
    """The trip's rules. None = no limit."""

    never_twice_running: bool = False
    leader_policy: str = "spare_seats"
    want_mixing: bool = False
    tolerance: float = 0.01
    visit_loss: tuple[float, ...] = (0.0, 0.4, 0.65, 0.8, 0.9, 0.95)
    light_dial: float = 0.5
    set_up_min: float = 15.0
    settle_min: float = 0.0
    stop_min: float = 5.0
    pick_up_window_min: float = 15.0
    hand_over_min: float = 60.0
    hardship_walk_m: float = 200.0
    heat_limit_c: float | None = None
    light: LightSettings = field(default_factory=LightSettings)
    reach: ReachSettings = field(default_factory=ReachSettings)
    advice: AdviceSettings = field(default_factory=AdviceSettings)


@dataclass(frozen=True, slots=True)
class Wishes:
    """What one person wishes on a trip. `votes`: ((subject key, votes), ...), at most six in all."""

    light: str = "front"
    output: str = "web"
    votes: tuple[tuple[str, int], ...] = ()
    again: tuple[str, ...] = ()
    photographs: bool = True


@dataclass(frozen=True, slots=True)
class Limit:
    """One thing a person cannot or would rather not do.

    `what`: steps, walk_m, entry, hours; `value`: number, or the hardest entry still possible; `firm`: cannot.
    """

    what: str
    value: float | str
    firm: bool = True
