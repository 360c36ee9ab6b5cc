"""Invented people, hides and turns for the tests of papers."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from participants.core.gear import Battery, Body, Converter, Gear, Lens, Support
from trips.core.advice import Carry, Line, Row, Setting, ShutterStep, Why
from trips.core.light import Interval
from trips.core.reach import GearSet, Reach, Remark
from trips.documents.briefing import DayLine, HideSafety, PackGroup, PackItem, PaperHead
from trips.documents.briefing_cards import Card
from trips.documents.briefing_pages import Briefing
from trips.documents.day_sheet import DaySheet, DropLine, PickUpLine, RunLine, SeatLine, SessionSheet
from trips.documents.days import CallPage, DepthFact, FillFact, LightCaution, SessionPage, TurnPage, ViewPage
from trips.documents.door_card import DoorCard
from trips.documents.etiquette import etiquette_for
from trips.documents.gear_table import GearTable, gear_line, loan_text, missing_supports, missing_texts
from trips.documents.owner_sheet import OwnerHide, OwnerSession, OwnerSheet
from trips.documents.paper_facts import ViewFacts
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


def line(kind: str, shutter: int) -> Line:
    reasons = (Why("stop_down_converter", 5.6, 4.0), Why("speed_feeding", 0.3, 1.0))
    focus, drive = ("single_point", "short_bursts") if kind == "still" else ("group", "high")
    return Line(kind, shutter, 1.0, focus, drive, reasons)


def rows(start: datetime) -> tuple[Row, ...]:
    """Settings by clock time: too dark, then from 21 minutes on, then to the end."""
    still, moving = Setting(4.0, 125, 6400), Setting(5.6, 2000, 1600)
    later = start + timedelta(minutes=21)
    return (
        Row(start, "none", None, None),
        Row(later, "front", still, None, 1.0),
        Row(start + timedelta(hours=4), "side", Setting(5.6, 1000, 800), moving),
    )


def gear(lens: str = "600 mm f/4") -> GearSet:
    body = Body("45 MP full frame", 36, 24, 8256, 5504)
    return GearSet(body, Lens(lens, 600, 600, 4, 4, 5.2), 600, Converter("1.4×", 1.4))


FILLS = (
    FillFact("European bee-eater", 27, 29, 0.62, "good"),
    FillFact("Hawfinch", 16, 18, 0.38, "good"),
    FillFact("Great tit", 13, 15, 0.31, "good"),
)


def view(start: datetime, **changes) -> ViewPage:
    """A view with front light, then side light, and the hide's shadow for a while."""
    turned, ends_at = start + timedelta(hours=3, minutes=2), start + timedelta(hours=4)
    near_edge = Remark("water_edge_inside_limit", "600 mm f/4", 4.5, 5.2)
    values = {
        "name": "pool window",
        "near_m": 6.0,
        "far_m": 6.0,
        "light": (Interval("front", start, turned), Interval("side", turned, ends_at)),
        "notices": (LightCaution("shadow_on_water", start, start + timedelta(minutes=72), True),),
        "subject": "European bee-eater",
        "reach": Reach("good", 1.0, Remark("fills_frame", "", 0.62), gear(), 0.62, 5100, warnings=(near_edge,)),
        "still": line("still", 500),
        "moving": line("moving", 2000),
        "rows": rows(start),
        "carry": Carry(("600 mm f/4", "1.4× converter"), "bean_bag", "bean bag", 3800.0, 40.0, False),
        "fills": FILLS,
        "depths": (DepthFact(6.0, 5.95, 6.06, 5.6),),
        "circle_mm": 0.029,
    }
    return ViewPage(**(values | changes))


def view_facts(**changes) -> ViewFacts:
    values = {"bearing_deg": 250.0, "water_edge_m": 4.5}
    return ViewFacts(**({"hide": "alder", "view": "pool window"} | values | changes))


def turn(number: int, *, views: tuple[ViewPage, ...] | None = None, **changes) -> SessionPage:
    """A session with a turn; `changes` are fields of the turn."""
    day, late = 8 + number // 2, number % 2
    start = moment(day, 17, 30) if late else moment(day, 6, 45)
    call = CallPage(
        "Car 1",
        leaves_at=start - timedelta(minutes=39),
        in_place_at=start + timedelta(minutes=3),
        pick_up_from=start + timedelta(hours=3, minutes=45),
        pick_up_to=start + timedelta(hours=4),
    )
    values = {
        "hide_key": HIDES[number % 5].casefold(),
        "hide": HIDES[number % 5],
        "seat": "left" if late else "right",
        "call": call,
        "walk_m": 40.0,
        "steps": 5,
        "company": ("inés",),
        "views": (view(start),) if views is None else views,
    }
    kind = "late" if late else "early"
    own = TurnPage(**(values | changes))
    return SessionPage(f"s{number}", kind, kind, start, start + timedelta(hours=4), "Europe/Madrid", own)


def rest(number: int) -> SessionPage:
    return replace(turn(number), turn=None, rest="the track to Dehesa tower is closed")


def card(session: SessionPage, **changes) -> Card:
    assert session.turn is not None
    own = Card(session, session.turn, (view_facts(),), names={"inés": "Inés in the right seat"}, drawing=DRAWING)
    return replace(own, **changes)


def day_line(day: int) -> DayLine:
    return DayLine(date(2027, 5, day), "06:49", "07:18", "21:25", "21:55", "14 to 27 °C")


def briefing(sessions: tuple[SessionPage, ...] | None = None, **changes) -> Briefing:
    """A briefing of those sessions, each turn with its card."""
    if sessions is None:
        sessions = (*(turn(number) for number in range(8)), rest(8))
    values = {
        "head": head(),
        "person": "Marta Olmedo Vidal",
        "sessions": sessions,
        "cards": tuple(card(one) for one in sessions if one.turn),
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
    fills = tuple(replace(FILLS[0], subject=f"European bee-eater {number}") for number in range(4))
    facts = (view_facts(), view_facts(view="east window", bearing_deg=100.0, water_edge_m=None))
    sessions = []
    for number in range(9):
        start = turn(number).starts_at
        dawn = ((start + timedelta(minutes=21), start + timedelta(hours=4)),)
        steps = tuple(
            ShutterStep(kind, part, dawn) for kind, part in (("rest", 125), ("still", 1000), ("moving", 2000))
        )
        first = view(start, fills=fills, steps=steps, rows=(rows(start) * 2)[:5])
        second = view(start, name="east window", near_m=7.0, far_m=8.0, number=1)
        sessions.append(turn(number, views=(first, second)))
    cards = tuple(card(one, view_facts=facts) for one in sessions)
    return briefing(tuple(sessions), cards=cards)


def day_sheet(people: int = 7, **changes) -> DaySheet:
    seats = tuple(
        SeatLine(HIDES[number // 2 % 5], ("left", "right")[number % 2], f"Person {number + 1}", "600 mm f/4")
        for number in range(people)
    )
    run = RunLine(
        "Car 1", "06:01",
        (DropLine("Alder", "06:11", "Person 1, Person 2"), DropLine("Birch", "06:31", "Person 3", 20)),
        "0000 BCD", "Tomás", 1,
    )  # fmt: skip
    session = SessionSheet(
        "Early", "06:45–10:45", seats, (run,),
        (PickUpLine("Alder", "10:30–10:45", True), PickUpLine("Birch", "10:30–10:45")),
        ("Person 8: the track is closed",), ("Elm: track closed",),
        forecast="14 °C to 27 °C, wind from 250° (WSW)", stretched=("Person 1, Alder: 5 steps, rather at most 3",),
    )  # fmt: skip
    values = {
        "head": head(title="Day sheet"),
        "day": date(2027, 5, 8),
        "sessions": (session, replace(session, name="Late", hours="17:30–21:30")),
        "facts": (Fact("Sunrise", "07:18"), Fact("Sunset", "21:25"), fact("Owner", "")),
        "phones": (Fact("Berta", "600 111 222"),),
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
        "call": Fact("Call", "112"),
        "coverage": Fact("Phone coverage", "one bar on the dam"),
        "emergency": (
            Fact("You are at", "39.50310° N, 6.19870° W"), fact("Rescue point", "gate 4"),
        ),
        "facts": (Fact("Seats", "left, right"), Fact("Perch", "6 m")),
        "cautions": ("ShutterStep at the door.",),
        "etiquette": etiquette_for(True),
    }  # fmt: skip
    return DoorCard(**(values | changes))


def gear_table(people: int = 8) -> GearTable:
    gear = Gear(
        (Body("45 MP full frame", 36, 24, 8256, 5504, top_iso=12800),), (Lens("600 mm f/4", 600, 600, 4, 4, 5.2),
        Lens("100-400 mm f/5.6", 100, 400, 5.6, 5.6)), (Converter("1.4×", 1.4),), (),
        (Support("bean bag", "bean_bag"),), (Battery("battery", 7.4, 2.28, 3),),
    )  # fmt: skip
    lines = tuple(gear_line(f"Person {number}", gear) for number in range(people))
    missing = missing_texts(missing_supports(gear, {"tripod": ("Elm",), "bean_bag": ("Alder",)}))
    loans = (loan_text("Person 1", "tripod", ("Person 2",)),)
    return GearTable(head(title="Gear table"), tuple(replace(line, missing=missing) for line in lines), loans)


def registration_form() -> RegistrationForm:
    return RegistrationForm(
        head(title="Registration"),
        form_parts(("Hoopoe", "Hawfinch", "Little owl"), HIDES),
        "Marta Olmedo",
        "the leader",
    )
