"""The tables of a trip file, in the order in which rows are made."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.contrib.auth import get_user_model
from django.db import models as fields

from participants import models as people
from participants.models import Row
from trips import models

FORMAT = "fairhide trip"
FORMAT_VERSION = 1
HEAD_KEYS = ("format", "format_version", "health_notes_included", "leaders")
LEADER_KEYS = ("username", "first_name", "last_name")


@dataclass(frozen=True)
class FileTable:
    """One list of rows. `order`: what rows are sorted by before their uuid; `single`: one row, not a list.

    `shared`: its rows belong to a leader, not to the trip, and may already be there when another trip came first.
    """

    name: str
    model: type[Row]
    order: tuple[str, ...] = ()
    shared: bool = False
    single: bool = False

    @cached_property
    def columns(self) -> tuple[fields.Field, ...]:
        """The fields that the file carries, by name: not the number in the database, not the trip itself."""
        own = (field for field in self.model._meta.concrete_fields if field.name not in SERVERS_OWN)
        return tuple(field for field in own if not field.primary_key and field.related_model is not models.Trip)

    @cached_property
    def references(self) -> dict[str, str]:
        """Which columns name a row of another table (or "leaders"), and of which."""
        return {field.name: TABLE_OF[field.related_model] for field in self.columns if field.is_relation}

    @cached_property
    def lists(self) -> dict[str, str]:
        """Columns that name several rows of another table (or "leaders"), and of which."""
        return {field.name: TABLE_OF[field.related_model] for field in self.model._meta.many_to_many}

    @property
    def belongs_to_trip(self) -> bool:
        """Whether its rows carry the trip, left out of the file because there is but one."""
        return any(field.related_model is models.Trip for field in self.model._meta.concrete_fields)

    @cached_property
    def to_trip(self) -> str:
        """How its rows belong to the trip: the path along the first column that always leads there."""
        if self.belongs_to_trip:
            return "trip"
        always = {field.name for field in self.columns if not field.null}
        ways = (
            (name, BY_NAME[target])
            for name, target in self.references.items()
            if target != "leaders" and name in always
        )
        return next(f"{name}__{table.to_trip}" for name, table in ways if not table.shared)


TABLES = (
    FileTable("participants", people.Participant, ("name",), shared=True),
    FileTable("health_notes", people.HealthNote, ("participant",), shared=True),
    FileTable("bodies", people.Body, ("participant", "name"), shared=True),
    FileTable("lenses", people.Lens, ("participant", "name"), shared=True),
    FileTable("converters", people.Converter, ("participant", "name"), shared=True),
    FileTable("tubes", people.Tube, ("participant", "name"), shared=True),
    FileTable("batteries", people.Battery, ("participant", "name"), shared=True),
    FileTable("supports", people.Support, ("participant", "name"), shared=True),
    FileTable("sites", models.Site, ("name",), shared=True),
    FileTable("hides", models.Hide, ("site", "name"), shared=True),
    FileTable("views", models.View, ("hide", "name"), shared=True),
    FileTable("seats", models.Seat, ("hide", "name"), shared=True),
    FileTable("subjects", models.Subject, ("name",), shared=True),
    FileTable("hide_subjects", models.HideSubject, ("hide", "subject"), shared=True),
    FileTable("trip", models.Trip, single=True),
    FileTable("rules", models.TripRules, single=True),
    FileTable("meals", models.Meal, ("day", "at")),
    FileTable("sessions", models.Session, ("starts_at", "site")),
    FileTable("forecasts", models.Forecast, ("session", "hour")),
    FileTable("session_hides", models.SessionHide, ("session", "hide")),
    FileTable("places", models.Place, ("participant",)),
    FileTable("cars", models.Car, ("name",)),
    FileTable("runs", models.Run, ("session", "car", "number")),
    FileTable("run_stops", models.RunStop, ("run", "position")),
    FileTable("wishes", models.Wish, ("place", "subject")),
    FileTable("agains", models.Again, ("place", "hide")),
    FileTable("pairings", models.Pairing, ("first", "second")),
    FileTable("absences", models.Absence, ("place", "session")),
    FileTable("gear_away", models.GearAway, ("from_at",)),
    FileTable("pins", models.Pin, ("session", "hide")),
    FileTable("rotas", models.Rota, ("number",)),
    FileTable("turns", models.Turn, ("rota", "session", "hide", "seat", "part")),
    FileTable("rests", models.Rest, ("rota", "session", "place")),
    FileTable("issues", models.Issue, ("issued_at",)),
    FileTable("changes", models.Change, ("rota", "when")),
    FileTable("makings", models.Making, ("started_at",)),
    FileTable("session_logs", models.SessionLog, ("session", "hide", "written_at")),
    FileTable("arrivals", models.Arrival, ("log", "subject")),
    FileTable("messages", models.Message, ("sent_at",)),
    FileTable("happenings", models.Happening, ("at",)),
    FileTable("notices", models.Notice, ("issue",)),
    FileTable("incidents", models.IncidentRecord, ("number",)),
)
# Columns bound to one server: a file that is imported mails nobody.
SERVERS_OWN = ("mail", "mail_due_at", "mail_tries", "mail_fault")
# Columns of files written before that say nothing any more: they are read over.
GONE_COLUMNS = {"trip": ("stage",)}
# What a file written before calls tables; and columns, by the table's name now.
OLD_TABLES = {"sightings": "arrivals"}
OLD_COLUMNS = {
    "wishes": {"marks": "votes"},
    "rules": {
        "burden_walk_m": "hardship_walk_m",
        "height_marks": "height_scoring",
        "wish_marks": "wish_scoring",
    },
    "hides": {"in_demand": "sought_after"},
    "rotas": {"sheet": "cell_light"},
    "session_logs": {"yield_mark": "yield_rating"},
}
BY_NAME = {table.name: table for table in TABLES}
TABLE_OF: dict[Any, str] = {table.model: table.name for table in TABLES} | {get_user_model(): "leaders"}
# Rows that a trip file never carries: ways in and what is bound to one server.
LEFT_OUT = (
    people.HealthReading,
    people.AccessLink,
    people.LinkPress,
    people.Device,
    people.Submission,
    models.PaperPack,
    models.DriverList,
    models.SitePlanner,
    people.LeaderDetails,  # the telephone goes with its leader, in `leaders`
)
