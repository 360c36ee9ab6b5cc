"""What changed for one person between two rotas. Only what somebody has to act on counts as a change."""

from dataclasses import dataclass, replace
from datetime import datetime

from trips.documents.days import DaysPage, DrivePage, HeatPage, SessionPage, TurnPage

LEAVINGS = ("leaves_at", "drives_at", "fetches_at")
WARMER_C = 3.0  # from here on another forecast asks for other clothes; common practice, no source


@dataclass(frozen=True, slots=True)
class PageChange:
    """One change in one session.

    `kind`: turn_added, turn_withdrawn, rest, hide, seat, leaves_at, car, hours, ends_at, own_hours, pick_up, stays,
    walk, pieces, heat_start, sky, forecast (Celsius), water (litres), drives, drives_at, fetches_at. `old`, `new`: what
    it was and is, as plain words, numbers or ISO moments. `session`, `starts_at`, `time_zone` say which session.
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


def is_told(change: PageChange, later_untold_min: float) -> bool:
    """Whether people get a mail for a change: not for a car that leaves so few minutes later."""
    if change.kind not in LEAVINGS or not (change.old and change.new):
        return True
    later_min = (datetime.fromisoformat(change.new) - datetime.fromisoformat(change.old)).total_seconds() / 60.0
    return not 0 < later_min <= later_untold_min


def with_what_is_over(told: DaysPage, page: DaysPage, now: datetime) -> DaysPage:
    """The page with every session that is over as it was told: nobody acts on its times any more."""
    kept = {session.key: session for session in told.sessions if session.ends_at <= now}
    return replace(page, sessions=tuple(kept.get(session.key, session) for session in page.sessions))


def with_what_was(told: DaysPage | None, page: DaysPage) -> DaysPage:
    """The page with the last turn that people were `told` of in each session that has none now."""
    last = {session.key: session.turn or session.was for session in told.sessions} if told else {}

    def was(session: SessionPage) -> TurnPage | None:
        turn = None if session.turn else last.get(session.key)
        return replace(turn, views=(), heat=None) if turn else None

    return replace(page, sessions=tuple(replace(session, was=was(session)) for session in page.sessions))


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
    found = [change(kind, before, after) for kind, before, after in _driven(old, new) if before != after]
    if was is None and now is None:
        rests = (old is not None and old.rest is not None, new is not None and new.rest is not None)
        return [*([change("rest")] if rests == (False, True) else []), *found]
    if now is None:
        is_rest = new is not None and new.rest is not None
        return [change("rest" if is_rest else "turn_withdrawn", was.where if was else ""), *found]
    if was is None:
        return [change("turn_added", "", now.where), *found]
    found += [change(kind, before, after) for kind, before, after in _pairs(was, now) if before != after]
    if old and new and old.starts_at != new.starts_at:
        found.append(change("hours", old.starts_at, new.starts_at))
    if old and new and old.ends_at != new.ends_at:
        found.append(change("ends_at", old.ends_at, new.ends_at))
    if old and new and old.sky and old.sky != new.sky:
        found.append(change("sky", old.sky, new.sky))
    return found


def _driven(old: SessionPage | None, new: SessionPage | None) -> list[tuple[str, object, object]]:
    """What the person drives: which car to which hides, and when, where that is the same.

    When somebody with a turn leaves, they are told like all who ride along.
    """
    before, after = old.drives if old else (), new.drives if new else ()
    if _cars(before) != _cars(after):
        return [("drives", _cars(before), _cars(after))]
    found: list[tuple[str, object, object]] = [("fetches_at", _leaves(before, fetch=True), _leaves(after, fetch=True))]
    if not (old and old.turn and new and new.turn):
        found.append(("drives_at", _leaves(before, fetch=False), _leaves(after, fetch=False)))
    return found


def _cars(drives: tuple[DrivePage, ...]) -> str:
    """Which cars to which hides, by the drives out, or by those to fetch where there are no others."""
    named = [one for one in drives if not one.fetch] or drives
    return "; ".join(dict.fromkeys(f"{one.car}: {', '.join(hide for hide, _at in one.stops)}" for one in named))


def _leaves(drives: tuple[DrivePage, ...], *, fetch: bool) -> datetime | None:
    """When the first drive of a kind leaves, None without one."""
    return next((one.leaves_at for one in drives if one.fetch == fetch), None)


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
        *_weather(was.heat, now.heat),
    ]


def _weather(was: HeatPage | None, now: HeatPage | None) -> list[tuple[str, object, object]]:
    """Another forecast, where it asks for other clothes or care, and other water."""
    if was is None or now is None:
        return []
    before_c, after_c = was.worst_air_c, now.worst_air_c
    moved = before_c is None or after_c is None or abs(before_c - after_c) >= WARMER_C
    forecast = (before_c, after_c) if moved or was.tier != now.tier else (None, None)
    water = (was.water_l, now.water_l) if was.bottles != now.bottles else (None, None)
    return [("forecast", *forecast), ("water", *water)]


def _pieces(turn: TurnPage) -> str:
    return "; ".join(dict.fromkeys(", ".join(view.carry.pieces) for view in turn.views if view.carry))


def _text(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, tuple):
        return "; ".join(f"{_text(start)}/{_text(end)}" for start, end in value)
    return "" if value is None else str(value)
