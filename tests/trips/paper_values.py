"""Invented people, hides and turns for the tests of papers."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from participants.core.gear import Battery, Body, Converter, Gear, Lens, Support
from trips.documents.briefing import (
    Briefing,
    BriefingTurn,
    DayLine,
    FillLine,
    HideSafety,
    PackGroup,
    PackItem,
    PaperHead,
    SettingsLine,
    TurnCard,
    TurnTimes,
    ViewCard,
)
from trips.documents.day_sheet import DaySheet, DropLine, PickUpLine, RunLine, SeatLine, SessionSheet
from trips.documents.door_card import DoorCard
from trips.documents.etiquette import etiquette_for
from trips.documents.gear_table import GearTable, gear_line
from trips.documents.owner_sheet import OwnerHide, OwnerSession, OwnerSheet
from trips.documents.quantities import Fact, fact
from trips.documents.registration_form import RegistrationForm, form_parts
from trips.documents.safety import Circumstances, cautions_for

MADRID = ZoneInfo("Europe/Madrid")
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 220" width="200" height="220">
<circle cx="100" cy="120" r="80" fill="none" stroke="#000" stroke-width="2"/>
<line x1="100" y1="200" x2="100" y2="40" stroke="#000"/><text x="100" y="30" text-anchor="middle" font-size="14"
font-family="Source Sans Pro">perch 6 m</text></svg>"""
HIDES = ("Alder", "Birch", "Cork", "Dehesa tower", "Elm")


def moment(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2027, 5, day, hour, minute, tzinfo=MADRID)


def head(**changes) -> PaperHead:
    values = {
        "trip": "Oaks and water 2027",
        "title": "Briefing",
        "rota": "rota 3, issued",
        "made": "7 May 2027 19:05 Europe/Madrid",
        "time_zone": "Europe/Madrid",
    }
    return PaperHead(**(values | changes))


def view() -> ViewCard:
    return ViewCard(
        "pool window",
        (
            Fact("Looks towards", "250° (WSW)"),
            Fact("Perch", "6 m"),
            Fact("Near edge of the water", "4.5 m"),
        ),
        ("Front until 09:47, side until 10:45.", "The hide's shadow lies on the water edge until 07:57."),
        (
            FillLine("European bee-eater", "27 to 29 cm", "62 %", "good"),
            FillLine("Hawfinch", "16 to 18 cm", "38 %", "good"),
            FillLine("Great tit", "13 to 15 cm", "31 %", "good"),
        ),
        DRAWING,
        "The view from the seat: perch straight ahead at 6 m, sun behind the left shoulder.",
    )


def card() -> TurnCard:
    return TurnCard(
        views=(view(),),
        settings=(
            SettingsLine("still", "1/500 s", "f/5.6", "6400 → 1600 → 400", "one point on the eye", "short bursts"),
            SettingsLine("moving", "1/2000 s", "f/5.6", "25600! → 6400 → 1600", "a group of points", "the fastest"),
        ),
        reasons=("A full stop down from f/4, because of the converter.", "Computed for feeding at 0.3 m/s."),
        notes=("Depth of field 11 cm at 6 m (circle 0.029 mm).",),
        warnings=("Birds at the near edge (4.5 m) are inside the lens's near limit of 5.2 m.",),
        carry=("Carry 600 mm f/4, 1.4× converter, bean bag.", "Water: 2 bottles of 1 l."),
        company="Inés in the right seat; whisper only",
    )


def turn(number: int, **changes) -> BriefingTurn:
    day, late = 8 + number // 2, number % 2
    start = moment(day, 17, 30) if late else moment(day, 6, 45)
    times = TurnTimes(
        start,
        start + timedelta(hours=4),
        start - timedelta(minutes=39),
        start + timedelta(minutes=3),
        start + timedelta(hours=3, minutes=45),
        start + timedelta(hours=4),
    )
    values = {
        "session": "Late" if late else "Early",
        "kind": "late" if late else "early",
        "times": times,
        "hide": HIDES[number % 5],
        "seat": "left" if late else "right",
        "car": "Car 1",
        "light": "front until 09:47" if not late else "front from 17:40",
        "lens": "600 mm f/4 with 1.4×",
        "way": "walk 40 m, 2 min, 5 steps",
        "card": card(),
    }
    return BriefingTurn(**(values | changes))


def rest(number: int) -> BriefingTurn:
    return replace(turn(number), hide="", seat="", note="the track to Dehesa tower is closed", card=TurnCard())


def day_line(day: int) -> DayLine:
    return DayLine(date(2027, 5, day), "06:49", "07:18", "21:25", "21:55", "14 to 27 °C")


def briefing(**changes) -> Briefing:
    values = {
        "head": head(),
        "person": "Marta Olmedo Vidal",
        "turns": (*(turn(number) for number in range(8)), rest(8)),
        "days": tuple(day_line(day) for day in range(8, 13)),
        "arrival": (
            fact("Meeting point", "Yard of the lodge, under the big oak"),
            fact("Map position", "39.50120° N, 6.20340° W"),
            fact("How to get there", ""),
        ),
        "packing": (
            PackGroup(
                "Camera", (PackItem("45 MP full-frame body"), PackItem("600 mm f/4"), PackItem("1.4× converter"))
            ),
            PackGroup("For the dark", (PackItem("Red torch", "and spare cells"), PackItem("This paper"))),
            PackGroup("On you", (PackItem("Dark, quiet clothes"), PackItem("Warm layer", "6 °C at dawn"))),
            PackGroup("Water", (PackItem("2 bottles of 1 l", "0.75 l an hour"),)),
        ),
        "etiquette": etiquette_for(True, (("Birch", "No flash at any time."),)),
        "hides": tuple(
            HideSafety(name, (fact("Rescue point", "gate 4 on the north track"), fact("Nearest road", "EX-0000 km 12")))
            for name in HIDES
        ),
        "cautions": cautions_for(Circumstances(by_water=True, sunken=True, ladder=True, alone=True)),
        "site_facts": (fact("Phone coverage", "good at the lodge, none at Cork"), fact("Radio", None)),
        "emergency": (
            fact("Emergency number", "112"),
            fact("Hospital", "Hospital del Valle, 35 min by car"),
            fact("Owner", "Tomás Requejo, 600 000 000"),
        ),
        "page_url": "https://hides.example.org/me/",
    }
    return Briefing(**(values | changes))


def full_briefing() -> Briefing:
    """A briefing of nine turns with as much on every card as on those of a real trip."""
    fills = tuple(replace(view().fills[0], subject=f"European bee-eater {number}") for number in range(4))
    full = replace(
        card(),
        views=(replace(view(), fills=fills),),
        windows=("East window: looks towards 100° (E), perch 7 m to 8 m. No sun on the perch until 07:17.",),
        limits=("The light is simply too low for a while: it would take ISO 204800, and 6400 is the most it gives.",),
        warnings=(*card().warnings, "The hide's own shadow lies on the perch 07:17–07:52. It clears at 07:52."),
    )
    cards = (replace(full, notes=(f"Depth of field 79 mm at {number} m and f/7.1.",)) for number in range(9))
    return briefing(turns=tuple(turn(number, card=one) for number, one in enumerate(cards)))


def day_sheet(people: int = 7, **changes) -> DaySheet:
    seats = tuple(
        SeatLine(HIDES[number // 2 % 5], ("left", "right")[number % 2], f"Person {number + 1}", "600 mm f/4")
        for number in range(people)
    )
    run = RunLine(
        "Car 1", "06:01", (DropLine("Alder", "06:11", "Person 1, Person 2"), DropLine("Birch", "06:31", "Person 3")),
        "0000 BCD", "Tomás", 1,
    )  # fmt: skip
    session = SessionSheet(
        "Early", "06:45–10:45", seats, (run,),
        (PickUpLine("Alder", "10:30–10:45", True), PickUpLine("Birch", "10:30–10:45")),
        ("Person 8: the track is closed",), ("37 °C expected in Alder from 10:00",),
    )  # fmt: skip
    values = {
        "head": head(title="Day sheet"),
        "day": date(2027, 5, 8),
        "sessions": (session, replace(session, name="Late", hours="17:30–21:30")),
        "facts": (Fact("Sunrise", "07:18"), Fact("Sunset", "21:25"), fact("Owner", "")),
    }
    return DaySheet(**(values | changes))


def owner_sheet(hides: int = 4, **changes) -> OwnerSheet:
    rows = tuple(
        OwnerHide(f"Hide {number + 1}", (f"left: Person {number}", f"right: Guest {number}"), "06:48", "10:30–10:45",
                  "Car 1", "Seed on the left perch, fill the pool")
        for number in range(hides)
    )  # fmt: skip
    session = OwnerSession("Early", "06:45–10:45", 6, rows, ("Car 1, 0000 BCD, leaves 06:01",), ("Elm: track closed",))
    values = {
        "head": head(title="Owner's sheet"),
        "day": date(2027, 5, 8),
        "site": "Dehesa del Valle",
        "people": 6,
        "sessions": (session, replace(session, name="Late", hours="17:30–21:30")),
        "facts": (Fact("Last time for changes", "20:00 the evening before"),),
    }
    return OwnerSheet(**(values | changes))


def door_card(**changes) -> DoorCard:
    values = {
        "head": head(title="Door card"),
        "hide": "Alder",
        "emergency": (
            Fact("Call", "112"), Fact("You are at", "39.50310° N, 6.19870° W"), fact("Rescue point", "gate 4"),
        ),
        "facts": (Fact("Seats", "left, right"), Fact("Perch", "6 m")),
        "cautions": ("Step at the door.",),
        "etiquette": etiquette_for(True),
    }  # fmt: skip
    return DoorCard(**(values | changes))


def gear_table(people: int = 8) -> GearTable:
    gear = Gear(
        (Body("45 MP full frame", 36, 24, 8256, 5504),), (Lens("600 mm f/4", 600, 600, 4, 4, 5.2),
        Lens("100-400 mm f/5.6", 100, 400, 5.6, 5.6)), (Converter("1.4×", 1.4),), (),
        (Support("bean bag", "bean_bag"),), (Battery("battery", 7.4, 2.28, 3),),
    )  # fmt: skip
    return GearTable(head(title="Gear table"), tuple(gear_line(f"Person {number}", gear) for number in range(people)))


def registration_form() -> RegistrationForm:
    return RegistrationForm(
        head(title="Registration"),
        form_parts(("Hoopoe", "Hawfinch", "Little owl"), HIDES),
        "Marta Olmedo",
        "the leader",
    )
