"""Trip files drawn by hypothesis: every table, every column, odd values, all rules of the rows kept."""

from datetime import UTC, datetime, timedelta
from typing import Any

from django.db.models import UniqueConstraint
from hypothesis import strategies as st

from participants.core.gear import LIST_OF
from trips.models.gear_away import PIECES
from trips.services.trip_file.tables import BY_NAME, FORMAT, FORMAT_VERSION, TABLES, FileTable

LEADERS = ("anna", "bërta", "chen")
FIRST = datetime(2027, 5, 8, 4, 45, tzinfo=UTC)
TURNS = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"  # dropped where a text comes in
ANY_TEXT = st.characters(codec="utf-8", exclude_characters=f"\0{TURNS}")
SMALL_JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**40), 2**40)
    | st.text(ANY_TEXT, max_size=8)
    # PostgreSQL keeps neither -0.0 nor the difference between 1e+16 and its digits inside a JSON column.
    | st.floats(-1e6, 1e6).map(lambda number: number + 0.0),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(ANY_TEXT, max_size=6), inner, max_size=3),
    max_leaves=5,
)
# How many rows of each table there may be, where the rows of others do not decide it.
MOST = {"participants": 3, "sites": 2, "hides": 3, "seats": 4, "subjects": 3, "sessions": 3, "rotas": 2, "turns": 4}
# Columns whose values hang together or are bounded by a constraint, as strategies over one row.
NUMBERS: dict[str, tuple[float, float]] = {
    **dict.fromkeys(("near_m", "far_m", "length_min_cm", "length_max_cm", "standing_height_cm"), (0.1, 500)),
    **dict.fromkeys(("sensor_width_mm", "sensor_height_mm"), (0.1, 120)),
    "cabin_bag_kg": (0.1, 100),
    "focal_min_mm": (1, 2000),
    "focal_max_mm": (1, 2000),
    "aperture_wide": (0.5, 64),
    "aperture_long": (0.5, 64),
    "near_limit_m": (0.01, 100),
    "max_magnification": (0.001, 5),
    "factor": (1.01, 4),
    "length_mm": (0.1, 300),
    "volts": (0.1, 50),
    "ampere_hours": (0.1, 50),
    "latitude_deg": (-90, 90),
    "longitude_deg": (-180, 180),
    "meeting_latitude_deg": (-90, 90),
    "meeting_longitude_deg": (-180, 180),
    "elevation_m": (-500, 9000),
    "width_m": (0.1, 100),
    "excess_c": (-20, 40),
    "bearing_deg": (0, 359.999),
    "water_edge_m": (0.1, 100),
    "perch_height_m": (-10, 100),
    "glass_loss_stops": (0, 10),
    "light_offset_stops": (-10, 10),
    "wind_from_deg": (0, 360),
    "heat_limit_c": (-20, 60),
    "air_c": (-60, 60),
    "humidity_pct": (0, 100),
    "hand_over_min": (0.1, 1000),
    "ev_span": (0.1, 10),
    "shutter_s": (1e-5, 1),
    "tolerance": (0, 0.2),
    "light_dial": (0, 1),
}
WHOLE: dict[str, tuple[int, int]] = {
    "votes": (1, 2),
    "yield_rating": (0, 5),
    **dict.fromkeys(("pixels_wide", "pixels_high"), (1, 20000)),
    "count": (1, 99),
    **dict.fromkeys(("minimum_people", "seats", "open_hides_at_once", "visits_at_most"), (1, 9)),
    "consecutive_turns_at_most": (1, 9),
    "part": (0, 2),
}
# Pairs (low, high) of one row whose order a constraint fixes.
RISING = (
    ("focal_min_mm", "focal_max_mm"), ("near_m", "far_m"), ("length_min_cm", "length_max_cm"), ("from_at", "until_at"),
    ("starts_at", "ends_at"), ("arrives_at", "leaves_at"), ("starts_on", "ends_on"),
    ("overdue_min", "overdue_mail_min"), ("front_deg", "side_deg"), ("crop_below", "tight_above"),
    ("tight_above", "portrait_above"),
)  # fmt: skip
# What must differ between two rows beyond the constraints without a condition.
UNIQUE: dict[str, list[tuple[str, ...]]] = {
    "health_notes": [("participant",)],
    "pins": [("session", "place"), ("session", "seat")],
    "turns": [("rota", "session", "seat"), ("rota", "session", "place", "leader")],
    "issues": [("rota",)],
    "notices": [("issue", "place", "leader")],
}
NAMED_FIRST = {"session": 0, "run": 0, "hide": 1, "seat": 2}
NAMED_ONCE = ("hides", "views", "seats", "subjects", "cars")


class NothingToName(Exception):
    """A row that needs another one that is not there."""


class _Drawing:
    """One file under way."""

    def __init__(self, draw: Any) -> None:
        self.draw = draw
        self.rows: dict[str, list[dict[str, Any]]] = {}

    def value(self, table: FileTable, column: Any, index: int) -> Any:
        kind = column.get_internal_type()
        if column.name == "uuid":
            return str(self.draw(st.uuids()))
        if column.null and self.draw(st.booleans()):
            return None
        if column.choices:
            values = [value for value, _ in column.choices if value != ""]
            return self.draw(st.sampled_from([*values, ""] if column.blank and kind == "CharField" else values))
        if kind == "DateTimeField":
            return moment(self.draw(st.timedeltas(timedelta(0), timedelta(days=9))))
        if kind == "FloatField":
            return self.draw(st.floats(*NUMBERS.get(column.name, (0, 1000))))
        if kind in ("PositiveIntegerField", "PositiveSmallIntegerField"):
            return self.draw(st.integers(*WHOLE.get(column.name, (0, 32767))))
        return self._other(table, column, index)

    def _other(self, table: FileTable, column: Any, index: int) -> Any:
        kind = column.get_internal_type()
        if kind == "BooleanField":
            return self.draw(st.booleans())
        if kind == "DateField":
            return str(self.draw(st.dates(FIRST.date(), FIRST.date() + timedelta(days=30))))
        if kind == "TimeField":
            return self.draw(st.times()).isoformat()
        if kind == "JSONField":
            return self._json(table, column)
        if kind == "UUIDField":
            return str(self.draw(st.uuids()))
        if column.name == "time_zone":
            return self.draw(st.sampled_from(["Europe/Madrid", "Pacific/Easter", "Asia/Kathmandu"]))
        if column.name == "email":
            return self.draw(st.sampled_from(["", "zoe+hides@example.org", "a@b.example"]))
        text = self.draw(st.text(ANY_TEXT, max_size=min(column.max_length or 30, 12)))
        if column.name == "name" and table.name in NAMED_ONCE:
            return f"{index} {text}"
        return text if column.blank or text else "x"

    def _json(self, table: FileTable, column: Any) -> Any:
        if column.name == "horizon":
            azimuths = sorted(self.draw(st.sets(st.floats(0, 359), max_size=4)))
            return [[azimuth + 0.0, self.draw(st.floats(0, 90)) + 0.0] for azimuth in azimuths]
        if column.name == "months":
            return sorted(self.draw(st.sets(st.integers(1, 12), max_size=4)))
        if table.name == "rules":
            return column.get_default()
        if isinstance(column.get_default(), list):
            return self.draw(st.lists(SMALL_JSON, max_size=2))
        return self.draw(
            st.dictionaries(st.text(ANY_TEXT, max_size=6), SMALL_JSON, min_size=0 if column.blank else 1, max_size=2)
        )

    def reference(self, column: Any, target: str, row: dict[str, Any]) -> Any:
        if target == "leaders":
            return self.draw(st.sampled_from([*LEADERS, None] if column.null else list(LEADERS)))
        pool = self.pool(column.name, target, row)
        if column.null and (not pool or self.draw(st.booleans())):
            return None
        if not pool:
            raise NothingToName
        return self.draw(st.sampled_from(pool))

    def pool(self, name: str, target: str, row: dict[str, Any]) -> list[str]:
        """The rows that a column may name, given what the row names already."""
        found = self.rows.get(target, [])
        if name == "hide" and row.get("session"):
            site = self.of("sessions", row["session"])["site"]
            found = [hide for hide in found if hide["site"] == site]
        elif name == "hide" and "run" in row:
            site = self.of("sessions", self.of("runs", row["run"])["session"])["site"]
            found = [hide for hide in found if hide["site"] == site]
        elif name == "seat":
            found = [seat for seat in found if seat["hide"] == row["hide"]]
        return [entry["uuid"] for entry in found]

    def of(self, table: str, uuid: str) -> dict[str, Any]:
        return next(row for row in self.rows[table] if row["uuid"] == uuid)

    def row(self, table: FileTable, index: int) -> dict[str, Any]:
        row: dict[str, Any] = {}
        # What else a row may name hangs on its session or run, then on its hide.
        for column in sorted(table.columns, key=lambda column: NAMED_FIRST.get(column.name, 9)):
            if column.name in table.references:
                row[column.name] = self.reference(column, table.references[column.name], row)
            else:
                row[column.name] = self.value(table, column, index)
        for name, target in table.lists.items():
            pool = list(LEADERS) if target == "leaders" else [entry["uuid"] for entry in self.rows[target]]
            row[name] = sorted(self.draw(st.sets(st.sampled_from(pool)))) if pool else []
        return fitted(table, row, index)

    def table(self, table: FileTable) -> None:
        """Draw the rows of a table, leaving out those that another row excludes."""
        most = MOST.get(table.name, 2)
        low = 1 if table.name in ("sites", "trip") else 0
        count = 1 if table.single else self.draw(st.integers(low, most))
        kept: list[dict[str, Any]] = []
        self.rows[table.name] = kept
        for index in range(count):
            try:
                row = self.row(table, index)
            except NothingToName:
                return
            if not any(excludes(table.name, row, other) for other in kept):
                kept.append(row)


def fitted(table: FileTable, row: dict[str, Any], index: int) -> dict[str, Any]:
    """The row with what its constraints ask for between its values."""
    for low, high in RISING:
        if row.get(low) is not None and row.get(high) is not None:
            row[low], row[high] = sorted((row[low], row[high]), key=_in_time)
    if table.name in ("sessions", "session_hides", "places"):
        low, high = ("arrives_at", "leaves_at") if table.name == "places" else ("starts_at", "ends_at")
        if row[low] is not None and row[low] == row[high]:
            row[high] = moment(timedelta(days=20))
    if table.name == "rules":
        row |= {"front_deg": 44.5, "side_deg": 120.25, "crop_below": 0.25, "tight_above": 0.75, "portrait_above": 1.5}
    if table.name in ("rotas", "run_stops"):
        row["number" if table.name == "rotas" else "position"] = index + 1
    if table.name == "rotas":
        row |= {"state": "issued" if index == 1 else "draft", "follows": None if index == 0 else row["follows"]}
    if table.name == "hides" and (row["latitude_deg"] is None or row["longitude_deg"] is None):
        row |= {"latitude_deg": None, "longitude_deg": None}
    if table.name in ("turns", "notices"):
        row["place"] = None if table.name == "notices" and row["session"] else row["place"]
        row["leader"] = None if row["place"] else LEADERS[0]
    if table.name == "happenings":
        row |= {"leader": None if row["place"] else LEADERS[0], "undoes": row["undoes"] if index else None}
        row["kind"] = row["kind"] if row["session"] and row["hide"] else "out" if row["session"] else "car_down"
    if table.name == "gear_away":
        named = next((kind for kind in PIECES if row[kind]), None)
        row |= dict.fromkeys({*PIECES} - {named}) | {"shared": row["shared"] and bool(row["borrower"])}
        row["until_at"] = None if row["until_at"] == row["from_at"] else row["until_at"]
    if table.name in ("cars", "runs"):  # one driver: a person, else a leader, else a name
        row["driver_leader"] = None if row["driver_place"] else row["driver_leader"]
        row["driver"] = "" if row["driver_place"] or row["driver_leader"] else row["driver"]
        row |= {"number": max(1, row["number"])} if table.name == "runs" else {}
    if table.name == "makings":
        row["state"] = "finished"
    return row


def _in_time(value: Any) -> Any:
    """A value to sort by: of moments, one with a part of a second comes after the full second."""
    return value.removesuffix("Z") if isinstance(value, str) else value


def excludes(table: str, row: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether two rows break a uniqueness that the rows or the file demand."""
    if table == "pairings":
        return {row["first"], row["second"]} == {other["first"], other["second"]}
    return any(
        all(row[name] == other[name] for name in key) and (row[key[-1]] is not None or key[-1] != "seat")
        for key in UNIQUE.get(table, []) + _once(table)
    )


def _once(table: str) -> list[tuple[str, ...]]:
    """The columns that a constraint lets stand once; a file's rows all belong to its one trip."""
    found = (rule for rule in BY_NAME[table].model._meta.constraints if isinstance(rule, UniqueConstraint))
    keys = [[name for name in rule.fields if name != "trip"] for rule in found if rule.condition is None]
    return [(*key,) for key in keys if key]


def moment(after: timedelta) -> str:
    return (FIRST + after).isoformat().replace("+00:00", "Z")


@st.composite
def trip_files(draw: Any) -> dict[str, Any]:
    """The data of a trip file that keeps every rule."""
    drawing = _Drawing(draw)
    for table in TABLES:
        drawing.table(table)
    rows = drawing.rows
    trip = rows["trip"][0]
    trip["sites"] = sorted(row["uuid"] for row in rows["sites"])
    trip["subjects"] = sorted(row["uuid"] for row in rows["subjects"])
    people = {row["participant"] for row in rows["places"]}
    rows["participants"] = [row for row in rows["participants"] if row["uuid"] in people]
    for table in TABLES:
        if "participant" in table.references:
            rows[table.name] = [row for row in rows[table.name] if row["participant"] in people]
    owners = {piece["uuid"]: piece["participant"] for kind in PIECES for piece in rows[LIST_OF[kind]]}
    whose = {row["uuid"]: row["participant"] for row in rows["places"]} | {None: None}
    lent = [(row, owners.get(next(filter(None, (row[kind] for kind in PIECES)), None))) for row in rows["gear_away"]]
    rows["gear_away"] = [row for row, owner in lent if owner and owner != whose[row["borrower"]]]
    rows["pairings"] = [row for row in rows["pairings"] if row["first"] != row["second"]]
    tables = {name: (found[0] if found else None) if BY_NAME[name].single else found for name, found in rows.items()}
    head = {"format": FORMAT, "format_version": FORMAT_VERSION, "health_notes_included": True}
    leaders = [{"username": name, "first_name": name.title(), "last_name": "", "phone": ""} for name in LEADERS]
    return head | {"leaders": leaders} | tables
