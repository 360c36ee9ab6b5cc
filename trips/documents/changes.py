"""What changed for one person between two rotas. Only what somebody has to act on counts as a change."""

from dataclasses import dataclass
from datetime import datetime

from trips.documents.days import DaysPage, SessionPage, TurnPage


@dataclass(frozen=True, slots=True)
class PageChange:
    """One change in one session.

    `kind`: turn_added, turn_withdrawn, rest, hide, seat, leaves_at, car, hours, own_hours, pick_up, stays, walk,
    pieces, heat_start, session_added, session_gone. `old`, `new`: what it was and is, as plain words, numbers or
    ISO moments. `session`, `starts_at` and `time_zone` say which session.
    """

    kind: str
    session: str
    name: str
    starts_at: datetime
    time_zone: str
    old: str = ""
    new: str = ""


def changes(old: DaysPage, new: DaysPage) -> tuple[PageChange, ...]:
    """All changes from one page to another, by session.

    With whom one sits and how the light is said do not count, nor gear for whoever comes without a camera.
    """
    found: list[PageChange] = []
    for key in _keys_by_start(old, new):
        found += _session_changes(old.session(key), new.session(key))
    return tuple(change for change in found if not (new.guest and change.kind == "pieces"))


def _keys_by_start(old: DaysPage, new: DaysPage) -> list[str]:
    starts = {session.key: session.starts_at for page in (old, new) for session in page.sessions}
    return sorted(starts, key=lambda key: (starts[key], key))


def _session_changes(old: SessionPage | None, new: SessionPage | None) -> list[PageChange]:
    here = new or old
    if here is None:
        return []

    def change(kind: str, before: object = "", after: object = "") -> PageChange:
        return PageChange(kind, here.key, here.name, here.starts_at, here.time_zone, _text(before), _text(after))

    was, now = old.turn if old else None, new.turn if new else None
    if was is None and now is None:
        rests = (old is not None and old.rest is not None, new is not None and new.rest is not None)
        return [change("rest")] if rests == (False, True) else []
    if now is None:
        return [change("rest" if new and new.rest is not None else "turn_withdrawn", was.where if was else "")]
    if was is None:
        return [change("turn_added", "", now.where)]
    found = [change(kind, before, after) for kind, before, after in _pairs(was, now) if before != after]
    if old and new and (old.starts_at, old.ends_at) != (new.starts_at, new.ends_at):
        found.append(change("hours", old.starts_at, new.starts_at))
    return found


def _pairs(was: TurnPage, now: TurnPage) -> list[tuple[str, object, object]]:
    """What is compared within a turn that stands in both rotas; the seat alone only where the hide is the same."""
    same_hide = was.hide_key == now.hide_key
    return [
        ("hide", was.where if was.hide_key and not same_hide else "", now.where if not same_hide else ""),
        ("seat", was.seat if same_hide else "", now.seat if same_hide else ""),
        ("leaves_at", was.call.leaves_at, now.call.leaves_at),
        ("car", was.call.car, now.call.car),
        ("own_hours", was.own_hours, now.own_hours),
        ("pick_up", was.call.pick_up_to, now.call.pick_up_to),
        ("stays", was.stays, now.stays),
        ("walk", was.walk_m, now.walk_m),
        ("pieces", _pieces(was), _pieces(now)),
        ("heat_start", was.heat.starts_at if was.heat else None, now.heat.starts_at if now.heat else None),
    ]


def _pieces(turn: TurnPage) -> str:
    return "; ".join(dict.fromkeys(", ".join(view.carry.pieces) for view in turn.views if view.carry))


def _text(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, tuple):
        return "; ".join(f"{_text(start)}/{_text(end)}" for start, end in value)
    return "" if value is None else str(value)
