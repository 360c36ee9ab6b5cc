"""What every row of the house has."""

import uuid
from collections.abc import Collection
from typing import Any

from django.db import models
from django.db.models import Q

from participants.core.isolation import typed_text


class Row(models.Model):
    """What every row has: a uuid that the trip file carries, and a version that stale forms are told by."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True

    def clean_fields(self, exclude: Collection[str] | None = None) -> None:
        """Checks each field as ever, its text without any mark that would turn a line round beyond it."""
        for field in self._meta.concrete_fields:
            value = self.__dict__.get(field.attname)
            if isinstance(value, str) and field.name not in (exclude or ()):
                setattr(self, field.attname, typed_text(value))
        super().clean_fields(exclude)


def once(name: str, message: Any, *columns: str, when: Q | None = None) -> models.UniqueConstraint:
    """No two rows alike in `columns` (of those for which `when` holds); `message` is what a person reads."""
    return models.UniqueConstraint(fields=columns, condition=when, name=name, violation_error_message=message)


def holds(name: str, message: Any, condition: Q) -> models.CheckConstraint:
    """`condition` holds for every row; `message` is what a person reads."""
    return models.CheckConstraint(condition=condition, name=name, violation_error_message=message)
