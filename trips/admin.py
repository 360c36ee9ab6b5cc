"""Admin of trips. Pairings are not here (confidential), rotas cannot be deleted, issues cannot be changed."""

from django.contrib import admin
from django.http import HttpRequest

from participants.admin import ReadOnlyAdmin
from trips import models


class RowAdmin(admin.ModelAdmin):
    """What all rows show."""

    readonly_fields = ("uuid", "version", "changed_at")
    show_full_result_count = False


def inline(model: type, extra: int = 0) -> type[admin.TabularInline]:
    """A table of `model` below its parent."""
    return type(f"{model.__name__}Inline", (admin.TabularInline,), {"model": model, "extra": extra})


@admin.register(models.Site)
class SiteAdmin(RowAdmin):
    list_display = ("name", "leader", "latitude_deg", "longitude_deg", "time_zone")
    inlines = [inline(models.SitePlanner)]


@admin.register(models.Hide)
class HideAdmin(RowAdmin):
    list_display = ("name", "site", "sunken", "in_demand", "steps", "walk_m")
    list_filter = ("site",)
    inlines = [inline(models.View), inline(models.Seat), inline(models.HideSubject)]


@admin.register(models.Subject)
class SubjectAdmin(RowAdmin):
    list_display = ("name", "scientific_name", "length_min_cm", "length_max_cm", "leader")
    search_fields = ("name", "scientific_name")


@admin.register(models.Trip)
class TripAdmin(RowAdmin):
    list_display = ("name", "leader", "starts_on", "ends_on", "stage")
    inlines = [inline(models.TripRules), inline(models.Car), inline(models.Meal)]


@admin.register(models.Session)
class SessionAdmin(RowAdmin):
    list_display = ("__str__", "trip", "starts_at", "ends_at", "kind", "sky")
    list_select_related = ("trip", "site")
    list_filter = ("trip",)
    inlines = [inline(models.SessionHide), inline(models.Forecast), inline(models.Absence)]


@admin.register(models.Run)
class RunAdmin(RowAdmin):
    list_display = ("session", "car")
    list_select_related = ("session", "car")
    inlines = [inline(models.RunStop)]


class PlaceWishInline(admin.TabularInline):
    model = models.Wish
    extra = 0


@admin.register(models.Place)
class PlaceAdmin(RowAdmin):
    list_display = ("participant", "trip", "state", "arrives_at", "leaves_at", "light_wish", "output")
    list_select_related = ("participant", "trip")
    list_filter = ("trip", "state")
    inlines = [PlaceWishInline, inline(models.Again)]


@admin.register(models.Pin)
class PinAdmin(RowAdmin):
    list_display = ("session", "place", "hide", "seat")
    list_select_related = ("session", "place__participant", "hide", "seat")


class KeptAdmin(ReadOnlyAdmin):
    """Rows that are kept as they were made; seen here, never altered or deleted."""


@admin.register(models.Rota)
class RotaAdmin(KeptAdmin):
    list_display = ("trip", "number", "state", "seed", "search_time", "made_at", "made_by")
    list_select_related = ("trip", "made_by")


class LeadersOnlyAdmin(KeptAdmin):
    """Turns and rests without what only leaders may read."""


@admin.register(models.Turn)
class TurnAdmin(LeadersOnlyAdmin):
    list_display = ("rota", "session", "place", "leader", "hide", "seat", "part", "points")
    list_select_related = ("rota", "session", "place__participant", "leader", "hide", "seat")
    exclude = ("leader_reasons",)


@admin.register(models.Rest)
class RestAdmin(LeadersOnlyAdmin):
    list_display = ("rota", "session", "place", "reason")
    list_select_related = ("rota", "session", "place__participant")


@admin.register(models.Making)
class MakingAdmin(KeptAdmin):
    list_display = ("trip", "state", "stage", "best", "bound", "started_at", "heartbeat_at")
    list_select_related = ("trip",)
    exclude = ("explanation",)


@admin.register(models.PaperPack)
class PaperPackAdmin(KeptAdmin):
    list_display = ("trip", "rota", "state", "page_size", "asked_at", "done", "total")
    list_select_related = ("trip", "rota")
    exclude = ("content",)


@admin.register(models.Issue)
class IssueAdmin(KeptAdmin):
    list_display = ("rota", "issued_at", "by")
    list_select_related = ("rota", "by")


@admin.register(models.Notice)
class NoticeAdmin(KeptAdmin):
    list_display = ("issue", "place", "told_at", "confirmed_at", "read_at")
    list_select_related = ("issue", "place__participant")


@admin.register(models.Change)
class ChangeAdmin(KeptAdmin):
    list_display = ("rota", "who", "when", "undone_at")
    list_select_related = ("rota", "who")
    exclude = ("why",)


@admin.register(models.SessionLog)
class SessionLogAdmin(RowAdmin):
    list_display = ("session", "hide", "written_at", "light_met", "yield_mark")
    list_select_related = ("session", "hide")
    inlines = [inline(models.Sighting)]


@admin.register(models.OutBack)
class OutBackAdmin(RowAdmin):
    list_display = ("session", "place", "leader", "hide", "out_at", "back_at")
    list_select_related = ("session", "place__participant", "leader", "hide")

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False
