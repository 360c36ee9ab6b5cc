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
class Table:
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
        own = self.model._meta.concrete_fields
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


TABLES = (
    Table("participants", people.Participant, ("name",), shared=True),
    Table("health_notes", people.HealthNote, ("participant",), shared=True),
    Table("bodies", people.Body, ("participant", "name"), shared=True),
    Table("lenses", people.Lens, ("participant", "name"), shared=True),
    Table("converters", people.Converter, ("participant", "name"), shared=True),
    Table("tubes", people.Tube, ("participant", "name"), shared=True),
    Table("batteries", people.Battery, ("participant", "name"), shared=True),
    Table("supports", people.Support, ("participant", "name"), shared=True),
    Table("sites", models.Site, ("name",), shared=True),
    Table("hides", models.Hide, ("site", "name"), shared=True),
    Table("views", models.View, ("hide", "name"), shared=True),
    Table("seats", models.Seat, ("hide", "name"), shared=True),
    Table("subjects", models.Subject, ("name",), shared=True),
    Table("hide_subjects", models.HideSubject, ("hide", "subject"), shared=True),
    Table("trip", models.Trip, single=True),
    Table("rules", models.TripRules, single=True),
    Table("cars", models.Car, ("name",)),
    Table("meals", models.Meal, ("day", "at")),
    Table("sessions", models.Session, ("starts_at", "site")),
    Table("runs", models.Run, ("session", "car")),
    Table("run_stops", models.RunStop, ("run", "position")),
    Table("forecasts", models.Forecast, ("session", "hour")),
    Table("session_hides", models.SessionHide, ("session", "hide")),
    Table("places", models.Place, ("participant",)),
    Table("wishes", models.Wish, ("place", "subject")),
    Table("agains", models.Again, ("place", "hide")),
    Table("pairings", models.Pairing, ("first", "second")),
    Table("absences", models.Absence, ("place", "session")),
    Table("pins", models.Pin, ("session", "hide")),
    Table("rotas", models.Rota, ("number",)),
    Table("turns", models.Turn, ("rota", "session", "hide", "seat", "part")),
    Table("rests", models.Rest, ("rota", "session", "place")),
    Table("issues", models.Issue, ("issued_at",)),
    Table("notices", models.Notice, ("issue", "place")),
    Table("changes", models.Change, ("rota", "when")),
    Table("makings", models.Making, ("started_at",)),
    Table("session_logs", models.SessionLog, ("session", "hide", "written_at")),
    Table("sightings", models.Sighting, ("log", "subject")),
    Table("outs", models.OutBack, ("session", "hide")),
)
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
    models.SitePlanner,
)
