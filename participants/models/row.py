"""What every row of the house has."""

import uuid

from django.db import models


class Row(models.Model):
    """What every row has: a uuid that the trip file carries, and a version that stale forms are told by."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True
