"""What writes sessions."""

from collections.abc import Iterable

from django.db import transaction

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.core.session_rules import ProposedSession
from trips.models import Session, Site, Trip
from trips.selectors.session import local_hours
from trips.services.staleness import inputs_changed


class SessionInUse(CoreError):
    """A session that rotas have turns in cannot go: `session`, `rotas` (their numbers)."""


class SessionsOverlap(CoreError):
    """Two sessions run at the same time: `one`, `other`, each (name, start, end) by its site's clock.

    `people`: the names of those whom a rota would seat in both.
    """


@transaction.atomic
def sessions_create(*, trip: Trip, site: Site, proposed: Iterable[ProposedSession]) -> list[Session]:
    """Save proposed sessions; one that starts when the trip already has one there is left out.

    Raises SessionsOverlap; then none is saved.
    """
    taken = set(trip.sessions.filter(site=site).values_list("starts_at", flat=True))
    made = []
    for session in proposed:
        if session.starts_at in taken:
            continue
        row = Session(trip=trip, site=site, kind=session.kind, starts_at=session.starts_at, ends_at=session.ends_at)
        row.full_clean()
        _alone_in_its_hours(row)
        row.save()
        taken.add(session.starts_at)
        made.append(row)
    return made


@transaction.atomic
def session_create(*, session: Session) -> Session:
    """A session typed by hand. Raises SessionsOverlap."""
    _alone_in_its_hours(session)
    session.save()
    return session


@transaction.atomic
def session_update(*, session: Session, seen_version: int) -> Session:
    """Save a changed session; `Stale` where somebody else changed it since. Raises SessionsOverlap."""
    _alone_in_its_hours(session)
    return row_save(row=session, seen_version=seen_version)


@transaction.atomic
def session_delete(*, session: Session) -> None:
    """Delete a session, unless a rota uses it."""
    numbers = sorted(set(session.turns.values_list("rota__number", flat=True)))
    numbers += sorted(set(session.rests.values_list("rota__number", flat=True)) - set(numbers))
    if numbers:
        raise SessionInUse(session=session, rotas=tuple(numbers))
    session.delete()
    inputs_changed([session.trip])


def _alone_in_its_hours(session: Session) -> None:
    """Nobody can sit in two sessions at once; the trip is locked until this one is saved."""
    trip = Trip.objects.select_for_update().get(pk=session.trip_id)
    others = trip.sessions.exclude(pk=session.pk).select_related("site")
    other = others.filter(starts_at__lt=session.ends_at, ends_at__gt=session.starts_at).first()
    if other is not None:
        raise SessionsOverlap(one=local_hours(session), other=local_hours(other))
