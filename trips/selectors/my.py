"""What a participant's pages read: places of the person, what was issued to them, and what is new since they read."""

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q
from django.db.models.fields.json import KeyTransform
from django.http import Http404

from participants.core.language import language, named
from participants.models import Participant
from participants.selectors import places_seen
from trips.documents.changes import PageChange, changes, with_what_is_over, with_what_was
from trips.documents.days import DaysPage, drawing_keys, page_of, tells_what_was
from trips.models import NOT_CANCELLED, ON_TRIP, Arrival, Issue, Notice, Place, RotaState
from trips.models.rota import OF_ISSUE
from trips.selectors.day_notices import day_notices

PEOPLE = "people"  # the key of Issue.pages under which each place's payload stands
LEADERS = "leaders"  # and each leader's, by user name


@dataclass(frozen=True)
class IssuedPage:
    """What one issue told one person; `in_force`: not followed by another, nor taken back.

    `tells_what_was`: its page says which turns earlier issues gave.
    """

    issue_uuid: UUID
    number: int
    issued_at: datetime
    page: DaysPage
    in_force: bool = True
    tells_what_was: bool = True


@dataclass(frozen=True)
class News:
    """What is new since the person last said they read it. `times`: told how often.

    `first`: they read nothing yet; `changes` are then what the last telling changed of the one before it.
    """

    times: int = 0
    first: bool = False
    changes: tuple[PageChange, ...] = ()

    @property
    def as_before(self) -> bool:
        """Changed more than once, and now as it was when the person last read it."""
        return self.times > 1 and not self.first and not self.changes


@dataclass(frozen=True)
class MyDays:
    """A person's page: the issue in force and what is new.

    `left`: they had a page and are no longer on the trip, so no turn of it is theirs. `today`: what they were told of
    moves under way.
    """

    place: Place
    issued: IssuedPage | None
    news: News
    names: dict[str, str]
    left: bool = False
    today: tuple[Notice, ...] = ()

    @property
    def today_last(self) -> UUID | None:
        """The last notice of a move that the page shows."""
        return self.today[-1].uuid if self.today else None

    @property
    def today_unread(self) -> bool:
        """Whether a move under way was not read yet."""
        return any(one.read_at is None for one in self.today)

    @property
    def changed(self) -> set[str]:
        """The keys of the sessions that are not as they were."""
        moved = {str(one.session.uuid) for one in self.today if one.session}
        return moved | {one.session for one in self.news.changes}


def places_of(person: Participant, *, typed_by: Any) -> list[Place]:
    """The person's places on trips that whoever asks may see, the earliest trip first, with what every page names.

    `typed_by`: the leader who asks, None for the person.
    """
    told = Exists(Notice.objects.filter(place=OuterRef("pk")))  # whoever was told of turns reads that they are gone
    places = places_seen(person, typed_by).filter(Q(state__in=NOT_CANCELLED) | told)
    return list(places.select_related("trip__rules", "trip__leader", "participant").order_by("trip__starts_on", "pk"))


def place_of(person: Participant, *, typed_by: Any, today: date, trip_uuid: UUID | str | None = None) -> Place | None:
    """The place a page is about: of the trip asked for, else of the running or next trip, else of the last one.

    A trip counts as running until the day after its end, since its last turn may cross midnight. 404 for the trip of
    somebody else; None for a person without any place. `typed_by`: the leader who asks, None for the person.
    """
    places = places_of(person, typed_by=typed_by)
    if trip_uuid:
        wanted = [place for place in places if str(place.trip.uuid) == str(trip_uuid)]
        if not wanted:
            raise Http404("no such trip")
        return wanted[0]
    live = [place for place in places if place.state in NOT_CANCELLED] or places
    ahead = [place for place in live if place.trip.ends_on >= today - timedelta(days=1)]
    return ahead[0] if ahead else live[-1] if live else None


def issued_page(place: Place, *, before: datetime | None = None) -> IssuedPage | None:
    """What the newest issue told this person (`before`: the newest one until that moment).

    Of a whole trip's issues only that payload is read, and of it only this person's part. Who is in the newest no more
    was last told something by the issue of their last notice. Without `before` the page says which turns earlier
    issues gave; for that an issue that was kept before pages said so has the earlier ones read too.
    """
    issues = Issue.objects.filter(rota__trip=place.trip_id).order_by("-issued_at", "-pk")
    if before is not None:
        issues = issues.filter(issued_at__lt=before)
    for asked in (issues, issues.filter(notices__place=place, notices__session=None)):
        pk = asked.values_list("pk", flat=True).first()
        if pk is None:
            return None
        if found := _issued_pages(place, pk=pk):
            return found[0] if before is not None or found[0].tells_what_was else _with_all_before(place, found[0])
    return None


def _with_all_before(place: Place, issued: IssuedPage) -> IssuedPage:
    page: DaysPage | None = None
    for one in _issued_pages(place, issued_at__lte=issued.issued_at):
        page = with_what_was(page, one.page)
    return replace(issued, page=page or issued.page)


def _issued_pages(place: Place, **which: Any) -> list[IssuedPage]:
    """What issues of the trip told this person, oldest first; only this person's part is read."""
    own: Any = KeyTransform(str(place.uuid), KeyTransform(PEOPLE, "pages"))
    issues = Issue.objects.filter(rota__trip=place.trip_id, **which).annotate(own=own).order_by("issued_at", "pk")
    rows = issues.values_list("uuid", "rota__number", "issued_at", "own", "rota__state")
    return [
        IssuedPage(uuid, number, issued_at, page_of(payload), state == RotaState.ISSUED, tells_what_was(payload))
        for uuid, number, issued_at, payload, state in rows
        if payload is not None
    ]


def issued_drawing(issued: IssuedPage, *, session_key: str, number: int, units: str) -> str:
    """The drawing of one view of the person's turn in a session, as the issue kept it; empty without one.

    In metres, and in English, where the issue has none as the reader reads, who chose units or language later.
    """
    session = issued.page.session(session_key)
    if session is None or session.turn is None:
        return ""
    keys = drawing_keys(session_key, session.turn.hide_key, number, units, language())
    drawn: dict[str, Any] = {
        f"own{n}": KeyTransform(key, KeyTransform("drawings", "papers")) for n, key in enumerate(keys)
    }
    found = Issue.objects.filter(uuid=issued.issue_uuid).annotate(**drawn).values_list(*drawn).first()
    return str(next(filter(None, found or ()), ""))


def my_days(place: Place, now: datetime) -> MyDays:
    """Everything a person's days page shows; earlier issues are read only for what is new since they read one.

    Whoever is no longer on the trip keeps what was over at `now` as it was told.
    """
    issued = issued_page(place)
    left = issued is not None and place.state not in ON_TRIP
    if issued is not None and left:  # also before the next issue takes the turns away
        gone = with_what_was(issued.page, _without_turns(issued.page))
        issued = replace(issued, page=with_what_is_over(issued.page, gone, now))
    return MyDays(place, issued, _news(place, issued), names_of(place), left, day_notices(place, now))


def arrivals_seen(page: DaysPage) -> tuple[tuple[str, int], ...]:
    """(subject, how many) of what was logged in the hides while the person sat there, by name."""
    seats = {(one.key, one.turn.hide_key) for one in page.sessions if one.turn}
    rows = Arrival.objects.filter(log__session__uuid__in=[key for key, _hide in seats]).select_related("log", "subject")
    counts: Counter[str] = Counter()
    for row in rows.select_related("log__session", "log__hide"):
        if (str(row.log.session.uuid), str(row.log.hide.uuid)) in seats:
            counts[named(row.subject.name, row.subject.other_names.items())] += row.count
    return tuple(sorted(counts.items()))


def _without_turns(page: DaysPage) -> DaysPage:
    return replace(page, sessions=tuple(replace(one, turn=None, rest=None) for one in page.sessions))


def names_of(place: Place) -> dict[str, str]:
    """The names of everybody with a place on the trip, by place key."""
    rows = Place.objects.filter(trip=place.trip_id).values_list("uuid", "participant__name")
    return {str(uuid): name for uuid, name in rows}


def _news(place: Place, issued: IssuedPage | None) -> News:
    """Compare the issue in force with the one before the first notice that is not read, or else before the last."""
    unread = Notice.objects.filter(OF_ISSUE, place=place, read_at__isnull=True).order_by("issue__issued_at", "pk")
    moments = list(unread.values_list("issue__issued_at", flat=True))
    if not moments or issued is None:
        return News()
    before_first = issued_page(place, before=moments[0])
    before = before_first or issued_page(place, before=moments[-1])
    found = changes(before.page, issued.page) if before else ()
    return News(len(moments), first=before_first is None, changes=found)
