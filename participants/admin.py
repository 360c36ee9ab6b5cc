"""Admin of people and gear. Health notes are not here: only their owner and the leader read them, on record."""

from django.contrib import admin
from django.http import HttpRequest

from participants import models

GEAR = (models.Body, models.Lens, models.Converter, models.Tube, models.Battery, models.Support)


def gear_inline(model: type[models.Piece]) -> type[admin.TabularInline]:
    """One kind of gear below its person."""
    return type(f"{model.__name__}Inline", (admin.TabularInline,), {"model": model, "extra": 0})


@admin.register(models.Participant)
class ParticipantAdmin(admin.ModelAdmin):
    list_display = ("name", "leader", "language", "units", "on_paper")
    list_filter = ("leader", "language", "units")
    search_fields = ("name", "email")
    readonly_fields = ("uuid", "version", "changed_at", "erased_at")
    inlines = [gear_inline(model) for model in GEAR]


@admin.register(models.LeaderDetails)
class LeaderDetailsAdmin(admin.ModelAdmin):
    list_display = ("leader", "phone")
    readonly_fields = ("uuid", "version", "changed_at")


class ReadOnlyAdmin(admin.ModelAdmin):
    """Rows that only services write."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


admin.site.register(
    GEAR,
    list_display=("name", "participant", "spare"),
    list_select_related=("participant",),
    search_fields=("name", "participant__name"),
)


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
