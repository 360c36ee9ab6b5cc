"""What writes sessions."""

from collections.abc import Iterable

from django.db import transaction

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.core.session_rules import ProposedSession
from trips.models import Session, Site, Trip
from trips.services.parts import parts_changed


class SessionInUse(CoreError):
    """A session that rotas have turns in cannot go: `session`, `rotas` (their numbers)."""


@transaction.atomic
def sessions_create(*, trip: Trip, site: Site, proposed: Iterable[ProposedSession]) -> list[Session]:
    """Save proposed sessions; one that starts when the trip already has one there is left out."""
    taken = set(trip.sessions.filter(site=site).values_list("starts_at", flat=True))
    made = []
    for session in proposed:
        if session.starts_at in taken:
            continue
        row = Session(trip=trip, site=site, kind=session.kind, starts_at=session.starts_at, ends_at=session.ends_at)
        row.full_clean()
        row.save()
        taken.add(session.starts_at)
        made.append(row)
    return made


@transaction.atomic
def session_create(*, session: Session) -> Session:
    """A session typed by hand."""
    session.save()
    return session


@transaction.atomic
def session_update(*, session: Session, seen_version: int) -> Session:
    """Save a changed session; `Stale` where somebody else changed it since."""
    return row_save(row=session, seen_version=seen_version)


@transaction.atomic
def session_delete(*, session: Session) -> None:
    """Delete a session, unless a rota uses it."""
    numbers = sorted(set(session.turns.values_list("rota__number", flat=True)))
    numbers += sorted(set(session.rests.values_list("rota__number", flat=True)) - set(numbers))
    if numbers:
        raise SessionInUse(session=session, rotas=tuple(numbers))
    session.delete()
    parts_changed([session.trip])
