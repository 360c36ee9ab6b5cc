"""Admin of people and gear. Health notes are not here: only their owner and the leader read them, on record."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from participants import models

GEAR = (models.Body, models.Lens, models.Converter, models.Tube, models.Battery, models.Support)


def inlines(*below: type) -> list[Any]:
    """Tables of rows below their parent."""
    return [type(f"{one.__name__}Inline", (admin.TabularInline,), {"model": one, "extra": 0}) for one in below]


@admin.register(models.Participant)
class ParticipantAdmin(admin.ModelAdmin):
    list_display = ("name", "leader", "language", "units", "on_paper")
    list_filter = ("leader", "language", "units")
    search_fields = ("name", "email")
    readonly_fields = ("uuid", "version", "changed_at", "erased_at")
    inlines = inlines(*GEAR)


class ReadOnlyAdmin(admin.ModelAdmin):
    """Rows that only services write."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


admin.site.register(
    models.LeaderDetails, list_display=("leader", "phone"), readonly_fields=("uuid", "version", "changed_at")
)
admin.site.register(
    GEAR,
    list_display=("name", "participant", "spare"),
    list_select_related=("participant",),
    search_fields=("name", "participant__name"),
)


admin.site.register(
    models.AccessLink,
    ReadOnlyAdmin,
    list_display=("kind", "counter", "made_at", "expires_at", "revoked_at"),
    exclude=("code_digest",),
)
admin.site.register(
    models.Submission,
    ReadOnlyAdmin,
    list_display=("kind", "participant", "taken_at"),
    list_select_related=("participant",),
)
admin.site.register(
    models.Device,
    ReadOnlyAdmin,
    list_display=("name", "participant", "signed_in_at", "revoked_at"),
    list_select_related=("participant",),
    exclude=("session_digest",),
)
