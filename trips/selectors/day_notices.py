"""What people were told of moves under way, which no issue follows."""

from datetime import datetime
from zoneinfo import ZoneInfo

from trips.assemble.drive_rows import person_name
from trips.documents.wording.happenings import day_told_sentence
from trips.models import Happening, HappeningKind, Notice, Place
from trips.models.rota import OF_DAY

OF_HAPPENING = tuple(
    f"happening__{name}" for name in ("place__participant", "leader", "hide", "seat", "undoes__undoes", "trip")
)


def day_notices(place: Place, now: datetime) -> tuple[Notice, ...]:
    """What a person was told of moves in sessions that are not over, the oldest first: where they sit now, and who
    joined them since. Of what was taken back only that it was.
    """
    rows = Notice.objects.filter(OF_DAY, place=place, session__ends_at__gt=now)
    rows = rows.select_related("session__site", *OF_HAPPENING).prefetch_related("happening__undone_by__undone_by")
    told = [one for one in rows.order_by("pk") if one.happening and not is_undone(one.happening)]
    last = {one.session_id: one.pk for one in told if one.happening and not is_joined(one)}
    return tuple(one for one in told if one.pk >= last.get(one.session_id, 0))


def is_undone(row: Happening) -> bool:
    """Whether something noted is taken back, and that is not."""
    return any(not is_undone(other) for other in row.undone_by.all())


def is_joined(notice: Notice) -> bool:
    """Whether a notice tells that somebody else moves to where its reader sits."""
    made = notice.happening
    if made is None or made.kind != HappeningKind.MOVED:
        return False
    return (made.place_id, made.leader_id) != (notice.place_id, notice.leader_id)


def day_sentence(notice: Notice) -> str:
    """What a notice of a move under way says, in the language in use."""
    made, session = notice.happening, notice.session
    assert made is not None
    assert session is not None
    depth, root = 0, made
    while root.undoes is not None:
        depth, root = depth + 1, root.undoes
    return day_told_sentence(
        "joined" if is_joined(notice) else root.kind,
        made.at.astimezone(ZoneInfo(session.site.time_zone)),
        who=person_name(made) if made.place_id or made.leader_id else "",
        hide=made.hide.name if made.hide else "",
        seat=made.seat.name if made.seat else "",
        is_taken_back=depth % 2 == 1,
    )
