"""Trips note when something that rotas are made from is taken out: what is gone has no moment of its own."""

from collections.abc import Callable
from typing import Any

from django.db.models import Model, QuerySet
from django.db.models.signals import post_delete
from django.utils import timezone

from participants import models as people
from trips import models


def _by(lookup: str, attribute: str) -> Callable[[Any], QuerySet[models.Trip]]:
    return lambda row: models.Trip.objects.filter(**{lookup: getattr(row, attribute)})


# The trips that a row belongs to.
TRIPS_OF: dict[type[Model], Callable[[Any], QuerySet[models.Trip]]] = {
    **dict.fromkeys((models.Session, models.Place, models.Pairing), _by("pk", "trip_id")),
    **dict.fromkeys((models.SessionHide, models.Forecast), _by("sessions", "session_id")),
    **dict.fromkeys((models.Wish, models.Again, models.Absence), _by("places", "place_id")),
    **dict.fromkeys((models.Seat, models.View, models.HideSubject), _by("sites__hides", "hide_id")),
    models.Hide: _by("sites", "site_id"),
    **dict.fromkeys(
        (people.Body, people.Lens, people.Converter, people.Tube), _by("places__participant", "participant_id")
    ),
}


def watch_removals() -> None:
    """Begin to note; called once, when the apps are ready."""
    for model in TRIPS_OF:
        post_delete.connect(_taken_out, sender=model, dispatch_uid=f"taken out: {model.__name__}")


def _taken_out(sender: type[Model], instance: Any, **_: Any) -> None:
    parts_changed(TRIPS_OF[sender](instance))


def parts_changed(trips: QuerySet[models.Trip]) -> None:
    """Note it for these trips; versions stay, so that no open form is refused."""
    # By key, so that a query with joins updates each trip once.
    keys = list(trips.order_by().values_list("pk", flat=True).distinct())
    if keys:
        models.Trip.objects.filter(pk__in=keys).update(parts_changed_at=timezone.now())
