"""What a trip offers everybody in a session, who could lend what to somebody there, and what is said of loans."""

from typing import Any

from participants.core.gear import LIST_OF, Gear
from participants.core.isolation import isolated
from participants.core.language import gettext as _
from trips.assemble.people import place_key
from trips.assemble.trip import TripValues
from trips.core.reach import hide_reach
from trips.documents.reach_table import GearOwner, Lender, Loan, Scene, hide_lines, loans
from trips.models import GearAway, Place
from trips.models.gear_away import PIECES


def scene_of(values: TripValues, session: str = "", *, losses: bool = False) -> Scene:
    """What a trip offers everybody in a session; `losses`: with what each lender would do without."""
    gear_of_all = {place_key(row): values.gear_then(place_key(row), session) for row in values.place_rows}
    lacked = {gear.lacks for gear in gear_of_all.values()}  # whoever has none may ask for somebody's second one
    lenders = [
        Lender(
            str(piece.uuid),
            key,
            row.participant.name,
            _views_worse(values, row, gear_of_all[key], (kind, str(piece.uuid))) if losses and row.photographs else 0,
            "" if piece.spare else kind,
        )
        for row in values.place_rows
        for key in (place_key(row),)
        for kind in PIECES
        for piece in getattr(row.participant, LIST_OF[kind]).all()
        if piece.spare or (kind in lacked and len(getattr(gear_of_all[key], LIST_OF[kind])) > 1)
        if gear_of_all[key].piece(kind, str(piece.uuid))
    ]
    lent: dict[str, Any] = {
        name: tuple(one for gear in gear_of_all.values() for one in getattr(gear, name))
        for name in (LIST_OF[kind] for kind in PIECES)
    }
    return Scene(values.hides, values.subjects, values.rules.reach, Gear(**lent), tuple(lenders))


def _views_worse(values: TripValues, row: Place, gear: Gear, piece: tuple[str, str]) -> int:
    """In how many views a person's reach gets worse for any subject without one of their pieces."""
    kind, key = piece
    left = gear.without(kind, gear.piece(kind, key))
    worse = set()
    for hide in values.hides:
        asked = (hide, values.subjects, values.wishes[place_key(row)], values.rules.reach)
        pairs = zip(hide_reach(gear, *asked).rows, hide_reach(left, *asked).rows, strict=True)
        worse |= {(hide.key, now.view) for now, then in pairs if then.reach.rank > now.reach.rank}
    return len(worse)


def person_value(values: TripValues, place: Place, units: str, gear: Gear) -> GearOwner:
    """A person of a trip as values, with these pieces."""
    key = place_key(place)
    return GearOwner(key, place.participant.name, gear, values.wishes[key], values.limits[key], units)


def loans_at(values: TripValues, place: Place, session: str, hide: str) -> tuple[Loan, ...]:
    """What others could lend somebody for a hide in a session (their keys), who loses least first."""
    row = next((one for one in values.place_rows if one.pk == place.pk and one.photographs), None)
    if row is None:
        return ()
    scene = scene_of(values, session, losses=True)
    person = person_value(values, row, values.trip.units, values.gear_then(place_key(row), session))
    return tuple(loan for loan in loans(person, hide_lines(person, scene), scene, hide) if loan.spare)


def gear_away_words(row: GearAway, values: TripValues) -> str:
    """What a row says of its piece."""
    hours = _hours(row, values)
    if not row.borrower:
        return _("lost or broken, {hours}", hours=hours)
    name = isolated(row.borrower.participant.name)
    if row.shared:
        return _("shared with {name}, {hours}", name=name, hours=hours)
    return _("lent to {name}, {hours}", name=name, hours=hours)


def lent_words(row: GearAway, values: TripValues) -> str:
    """What a person has of somebody else."""
    piece, owner = isolated(row.piece.name), isolated(row.piece.participant.name)
    return _("{piece} of {name}, {hours}", piece=piece, name=owner, hours=_hours(row, values))


def _hours(row: GearAway, values: TripValues) -> str:
    """From which session to which, by name; the end is left out where it stays away."""
    pairs = zip(values.session_rows, values.sessions, strict=True)
    within = [session.name for session_row, session in pairs if row.covers(session_row)]
    if not within:
        return _("in no session")
    if row.until_at is None:
        return _("from {session} on", session=within[0])
    return within[0] if len(within) == 1 else _("{low} to {high}", low=within[0], high=within[-1])
