"""What a participant changes of their place: wishes, details, company."""

from dataclasses import dataclass

from django.db import transaction

from participants.models import Participant
from participants.versions import row_save
from trips.models import Again, Hide, Pairing, Place, Wish
from trips.models.place import PairingKind


@dataclass(frozen=True)
class WishValues:
    """What the wishes form says. `votes`: by subject id; `company`: another place and how, or None."""

    light_wish: str
    output: str
    votes: dict[int, int]
    again: tuple[Hide, ...]
    company: tuple[Place, str] | None = None


@transaction.atomic
def wishes_save(*, place: Place, wishes: WishValues, seen_version: int) -> None:
    """Save all wishes of a place; `Stale` where they changed since."""
    place.light_wish, place.output = wishes.light_wish, wishes.output
    row_save(row=place, seen_version=seen_version)
    place.wishes.all().delete()
    Wish.objects.bulk_create(Wish(place=place, subject_id=key, votes=votes) for key, votes in wishes.votes.items())
    place.agains.all().delete()
    Again.objects.bulk_create(Again(place=place, hide=hide) for hide in wishes.again)
    if wishes.company is not None:
        company_wish(place=place, other=wishes.company[0], how=wishes.company[1])


@transaction.atomic
def company_wish(*, place: Place, other: Place, how: str) -> None:
    """Tell the leader with whom a person wants to sit or not. "Apart", whoever said it, is not undone by the other."""
    first, second = sorted((place, other), key=lambda one: one.pk)
    pairs = Pairing.objects.select_for_update().filter(first__in=(first, second), second__in=(first, second))
    known = pairs.first()
    if known is None:
        Pairing.objects.create(trip=place.trip, first=first, second=second, kind=how)
    elif known.kind != PairingKind.APART:
        known.kind = how
        row_save(row=known)


@dataclass(frozen=True)
class SeenVersions:
    """The versions of person and place that a form was opened on."""

    person: int
    place: int


@transaction.atomic
def details_save(*, person: Participant, place: Place, seen: SeenVersions) -> None:
    """Save contact and limits together; `Stale` where either changed since, and then neither is saved."""
    row_save(row=person, seen_version=seen.person)
    row_save(row=place, seen_version=seen.place)
