"""Admin of trips. Not here: pairings and messages, which are confidential. Rotas, issues and the day do not change."""

from django.contrib import admin

from participants.admin import ReadOnlyAdmin, inlines
from trips import models


class RowAdmin(admin.ModelAdmin):
    """What all rows show."""

    readonly_fields = ("uuid", "version", "changed_at")
    show_full_result_count = False


register = admin.site.register
register(
    models.Site,
    RowAdmin,
    list_display=("name", "leader", "latitude_deg", "longitude_deg", "time_zone"),
    inlines=inlines(models.SitePlanner),
)
register(
    models.Hide,
    RowAdmin,
    list_display=("name", "site", "sunken", "sought_after", "steps", "walk_m"),
    list_filter=("site",),
    inlines=inlines(models.View, models.Seat, models.HideSubject),
)
register(
    models.Subject,
    RowAdmin,
    list_display=("name", "scientific_name", "length_min_cm", "length_max_cm", "leader"),
    search_fields=("name", "scientific_name"),
)
register(
    models.Trip,
    RowAdmin,
    list_display=("name", "leader", "starts_on", "ends_on"),
    inlines=inlines(models.TripRules, models.Car, models.Meal),
)
register(
    models.Session,
    RowAdmin,
    list_display=("__str__", "trip", "starts_at", "ends_at", "kind", "sky"),
    list_select_related=("trip", "site"),
    list_filter=("trip",),
    inlines=inlines(models.SessionHide, models.Forecast, models.Absence),
)
register(
    models.Run,
    RowAdmin,
    list_display=("session", "car"),
    list_select_related=("session", "car"),
    inlines=inlines(models.RunStop),
)
register(
    models.Place,
    RowAdmin,
    list_display=("participant", "trip", "state", "arrives_at", "leaves_at", "light_wish", "output"),
    list_select_related=("participant", "trip"),
    list_filter=("trip", "state"),
    inlines=inlines(models.Wish, models.Again),
)
register(
    models.SessionLog,
    RowAdmin,
    list_display=("session", "hide", "written_at", "light_met", "yield_rating"),
    list_select_related=("session", "hide"),
    inlines=inlines(models.Arrival),
)
# What names people and their turns: shown in a list, some without what only leaders may read or what is too long.
for model, shown, related, base, hidden in (
    (models.Pin, "session place hide seat", "session place__participant hide seat", RowAdmin, ""),
    (
        models.Happening,
        "kind at session place leader hide seat car by undoes",
        "session place__participant leader hide seat car by undoes",
        ReadOnlyAdmin,
        "note",
    ),
    (
        models.GearAway,
        "trip body lens converter tube borrower shared from_at until_at",
        "trip borrower__participant",
        RowAdmin,
        "",
    ),
    (models.Rota, "trip number state seed search_time made_at made_by", "trip made_by", ReadOnlyAdmin, ""),
    (
        models.Turn,
        "rota session place leader hide seat part points",
        "rota session place__participant leader hide seat",
        ReadOnlyAdmin,
        "leader_reasons",
    ),
    (models.Rest, "rota session place reason", "rota session place__participant", ReadOnlyAdmin, ""),
    (
        models.Making,
        "trip state stage best bound started_at heartbeat_at",
        "trip",
        ReadOnlyAdmin,
        "explanation",
    ),
    (models.PaperPack, "trip rota state page_size asked_at done total", "trip rota", ReadOnlyAdmin, "content"),
    (models.Issue, "rota issued_at by", "rota by", ReadOnlyAdmin, ""),
    (
        models.Notice,
        "issue place leader told_at confirmed_at read_at mail mail_tries",
        "issue place__participant leader",
        ReadOnlyAdmin,
        "",
    ),
    (models.DriverList, "trip day driver", "trip", ReadOnlyAdmin, ""),
    (models.IncidentRecord, "trip number session made_at by", "trip session by", ReadOnlyAdmin, "paper"),
    (models.Change, "rota who when undone_at", "rota who", ReadOnlyAdmin, "why"),
):
    register(
        model, base, list_display=shown.split(), list_select_related=related.split(), exclude=hidden.split() or None
    )
