"""The whole rota on one sheet for the wall of the lodge: a row for each person, a column for each session."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from participants.core.language import gettext as _
from trips.documents.briefing import PaperHead
from trips.documents.days import DaysPage, SessionPage
from trips.documents.quantities import clock_text, short_day_text
from trips.documents.wording.days import kind_words

TINTS = 6  # pale grounds in `paper.css` that can be told apart; a hide's name is on each anyway


@dataclass(frozen=True, slots=True)
class SheetCell:
    """Where a person sits and when their car leaves; without a hide a rest, or nothing for somebody not there.

    `tint`: number of the ground of its hide, from 1 to TINTS; with more hides they begin again.
    """

    hide: str = ""
    seat: str = ""
    leaves: str = ""
    rests: bool = False
    tint: int = 0


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One person over all sessions."""

    person: str
    cells: tuple[SheetCell, ...]


@dataclass(frozen=True, slots=True)
class RotaSheet:
    """Everybody in every session. `columns`: (day, time of day) of each session."""

    head: PaperHead
    columns: tuple[tuple[str, str], ...]
    rows: tuple[SheetRow, ...]


def rota_sheet(head: PaperHead, people: Iterable[tuple[str, DaysPage]]) -> RotaSheet:
    """The sheet from the days pages of all people, by name; all pages have the same sessions in the same order."""
    ordered = sorted(people, key=lambda one: one[0])
    sessions = ordered[0][1].sessions if ordered else ()
    hides = sorted({one.turn.hide for _name, page in ordered for one in page.sessions if one.turn})
    tints = {hide: number % TINTS + 1 for number, hide in enumerate(hides)}
    columns = tuple((short_day_text(one.starts_at.date()), kind_words(one)) for one in sessions)
    rows = (SheetRow(name, tuple(_cell(one, tints) for one in page.sessions)) for name, page in ordered)
    return RotaSheet(head, columns, tuple(rows))


def _cell(session: SessionPage, tints: Mapping[str, int]) -> SheetCell:
    turn = session.turn
    if turn is None:
        return SheetCell(rests=session.rest is not None)
    leaves_at = turn.call.leaves_at
    leaves = clock_text(leaves_at) if leaves_at else _("there already")
    return SheetCell(turn.hide, turn.seat, leaves, tint=tints[turn.hide])
