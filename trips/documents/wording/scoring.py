"""The scoring: numbers that scores and verdicts are worked out with: what each is called and what it changes."""

from dataclasses import dataclass

WISH_WORDS = {"front": "Front light wanted", "side": "Side light wanted", "back": "Back light wanted"}
WISH_ANGLES_DEG = (0, 45, 90, 180)
VISIT_WORDS = ("second", "third", "fourth", "fifth", "sixth")


@dataclass(frozen=True)
class Number:
    """One number: the field of the rules, its name with the unit, the range it may have, and what it changes."""

    field: str
    label: str
    low: float
    high: float
    changes: str
    whole: bool = False


@dataclass(frozen=True)
class ScoringGroup:
    """Numbers that belong together."""

    key: str
    title: str
    lead: str
    numbers: tuple[Number, ...]


LIGHT = ScoringGroup(
    "light",
    "Classes of light",
    "Which name the light gets, by where the sun stands.",
    (
        Number(
            "front_deg", "Front light up to (°)", 0, 180, "Larger: more light counts as front light in all the words."
        ),
        Number("side_deg", "Side light up to (°)", 0, 180, "Beyond this angle the light is called back light."),
        Number("top_deg", "Top light above (° of height)", 0, 90, "Smaller: top light begins earlier before midday."),
    ),
)
MOMENTS = ScoringGroup(
    "moments",
    "Light of a moment",
    "What multiplies the factors of height and direction.",
    (
        Number("ev_low", "No light to work by below (EV at ISO 100)", 0, 20, "Smaller: dim minutes begin to count."),
        Number("ev_span", "Full light from … EV above that", 0.1, 10, "Larger: dim minutes count less for longer."),
        Number(
            "shade_factor", "In the shade", 0, 1, "Counts while the sun is behind the horizon or the hide's shadow."
        ),
        Number("overcast_factor", "Overcast", 0, 1, "Counts under a closed sky, whatever the direction."),
        Number("lamp_score", "Lamps at night", 0, 1, "The score of a lamp-lit hide once the sun is gone."),
    ),
)
GOOD = ScoringGroup(
    "good",
    "Good turns",
    "When a turn is counted as good, in the counts that everybody is told first.",
    (
        Number("good_score", "Good light from", 0, 1, "Larger: fewer minutes count as good."),
        Number("good_minutes", "… for at least (min)", 5, 720, "Larger: fewer turns count as good."),
    ),
)
FILL = ScoringGroup(
    "fill",
    "How large an animal stands in the frame",
    "Share of the frame's long side that the animal fills: 0.3 is 30 %.",
    (
        Number("crop_below", "Needs a crop below", 0.01, 5, "Larger: more hides need a crop."),
        Number("tight_above", "Tight above", 0.01, 5, "Smaller: more hides are called tight."),
        Number("portrait_above", "Portrait only above", 0.01, 5, "Beyond this only a part of the animal fits."),
    ),
)
PIXELS = ScoringGroup(
    "pixels",
    "Pixels along the animal",
    "What must be left after cropping, by what the person wants to make of the picture.",
    (
        Number("least_pixels", "Out of reach below", 1, 20000, "Larger: more hides are out of reach.", whole=True),
        Number("pixels_web", "For screen and web", 1, 20000, "Fewer than this is a small file.", whole=True),
        Number("pixels_30x20", "For a print of 30 × 20 cm", 1, 20000, "Fewer than this is a small file.", whole=True),
        Number("pixels_a3", "For a print of A3", 1, 20000, "Fewer than this is a small file.", whole=True),
    ),
)
ADVICE = ScoringGroup(
    "advice",
    "Starting settings",
    "What the advice for a turn begins with; a person's own body comes first where it is known.",
    (
        Number("shutter_s", "Working shutter (s)", 0.00001, 1, "Shorter: sharper movement, higher ISO."),
        Number("iso_good", "Acceptable ISO", 50, 1000000, "Above this the advice says so.", whole=True),
        Number(
            "iso_top_default",
            "Highest ISO where a body has none",
            50,
            1000000,
            "Beyond it the advice opens up and slows down.",
            whole=True,
        ),
    ),
)
GROUPS = (LIGHT, MOMENTS, GOOD, FILL, PIXELS, ADVICE)
REACH_CHANGES = "Multiplies the points of a turn where the gear gets this verdict."
LISTS = {
    "height_scoring": "Height of the sun",
    "wish_scoring": "Direction of the light",
    "reach_factors": "Factors of reach",
    "visit_loss": "What later visits lose",
}


def scoring_fields() -> tuple[str, ...]:
    """All fields of the rules that hold the scoring."""
    return (*(number.field for group in GROUPS for number in group.numbers), *LISTS)


def scoring_labels() -> dict[str, str]:
    """What each field of `scoring_fields` is called."""
    return {number.field: number.label for group in GROUPS for number in group.numbers} | LISTS
