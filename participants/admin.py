"""Admin of people and gear. Health notes are not here: only their owner and the leader read them, on record."""

from django.contrib import admin
from django.http import HttpRequest

from participants import models


class GearInline(admin.TabularInline):
    """Gear below its person."""

    extra = 0


def gear_inline(model: type[models.Piece]) -> type[GearInline]:
    """An inline for one kind of gear."""
    return type(f"{model.__name__}Inline", (GearInline,), {"model": model})


@admin.register(models.Participant)
class ParticipantAdmin(admin.ModelAdmin):
    list_display = ("name", "leader", "language", "units", "on_paper")
    list_filter = ("leader", "language", "units")
    search_fields = ("name", "email")
    readonly_fields = ("uuid", "version", "changed_at", "erased_at")
    inlines = [
        gear_inline(model)
        for model in (models.Body, models.Lens, models.Converter, models.Tube, models.Battery, models.Support)
    ]


class ReadOnlyAdmin(admin.ModelAdmin):
    """Rows that only services write."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


class GearAdmin(admin.ModelAdmin):
    list_display = ("name", "participant", "spare")
    list_select_related = ("participant",)
    search_fields = ("name", "participant__name")


for gear in (models.Body, models.Lens, models.Converter, models.Tube, models.Battery, models.Support):
    admin.site.register(gear, GearAdmin)


@admin.register(models.AccessLink)
class AccessLinkAdmin(ReadOnlyAdmin):
    list_display = ("kind", "counter", "made_at", "expires_at", "revoked_at")
    exclude = ("code_digest",)


@admin.register(models.Submission)
class SubmissionAdmin(ReadOnlyAdmin):
    list_display = ("kind", "participant", "taken_at")
    list_select_related = ("participant",)


@admin.register(models.Device)
class DeviceAdmin(ReadOnlyAdmin):
    list_display = ("name", "participant", "signed_in_at", "revoked_at")
    list_select_related = ("participant",)
    exclude = ("session_digest",)
