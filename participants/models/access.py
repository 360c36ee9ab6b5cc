"""Signing in without a password: links, tries, devices, and forms that waited for a network."""

from django.db import models
from django.db.models import F, Q

from participants.models.person import Participant
from participants.models.row import Row, holds, once

LINK_KINDS = [
    ("mail", "sign-in by mail"),
    ("handed", "sign-in handed over"),
    ("feed_person", "calendar of a person"),
    ("feed_trip", "calendar of a trip"),
    ("feed_owner", "calendar of an owner"),
    ("owner_sheet", "owner's sheet"),
    ("driver", "list of a driver"),
]


class AccessLink(Row):
    """A sign-in link, or a feed's address. The token is an HMAC of kind, owner and counter.

    `owner_uuid` names a Participant, Trip, Site or DriverList, by kind. Raising `counter` makes the old address answer
    410.
    """

    owner_uuid = models.UUIDField()
    kind = models.CharField(max_length=12, choices=LINK_KINDS)
    counter = models.PositiveIntegerField(default=1)
    code_digest = models.CharField(max_length=128, blank=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "uuid"]
        constraints = [
            once("access_link_once", "There is one address of a kind for each owner.", "owner_uuid", "kind"),
            holds(
                "access_link_ends_later",
                "A link ends after it was made.",
                Q(expires_at__isnull=True) | Q(expires_at__gt=F("made_at")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.counter}"


class LinkPress(Row):
    """One try to press a sign-in link; used to limit tries. `key` is the link's owner or a digest of what was typed."""

    key = models.CharField(max_length=128, db_index=True)
    pressed_at = models.DateTimeField(db_index=True)
    worked = models.BooleanField(default=False)

    class Meta:
        ordering = ["pressed_at", "uuid"]

    def __str__(self) -> str:
        return f"press {self.pressed_at:%Y-%m-%d %H:%M}"


class Device(Row):
    """A signed-in device of a participant, so that it can be named and signed out from elsewhere.

    `session_digest` is the key of its session's row. `is_new`: its browser was not this person's before.
    """

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="devices")
    session_digest = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=200, blank=True)
    signed_in_at = models.DateTimeField()
    is_new = models.BooleanField(default=False)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["signed_in_at", "uuid"]

    def __str__(self) -> str:
        return self.name or "device"


class Submission(Row):
    """A form that was taken, so that it is taken once; `answer`: what its sender was told, for when it comes again.

    `client_uuid`: what a phone calls a form that it keeps, or a digest of a page's form. `participant`: None for a
    form of a leader.
    """

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="submissions", null=True)
    client_uuid = models.UUIDField(unique=True)
    kind = models.CharField(max_length=40)
    taken_at = models.DateTimeField()
    answer = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["taken_at", "uuid"]

    def __str__(self) -> str:
        return f"{self.kind} {self.client_uuid}"
