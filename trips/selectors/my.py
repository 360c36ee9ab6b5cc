"""What a participant's pages read: places of the person, what was issued to them, and what is new since they read."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q
from django.db.models.fields.json import KeyTransform
from django.http import Http404

from participants.core.language import language
from participants.models import Participant
from participants.selectors import places_seen
from trips.documents.changes import PageChange, changes
from trips.documents.days import DaysPage, TurnPage, drawing_keys, page_of
from trips.models import NOT_CANCELLED, ON_TRIP, Issue, Notice, Place, RotaState

PEOPLE = "people"  # the key of Issue.pages under which each place's payload stands
LEADERS = "leaders"  # and each leader's, by user name


@dataclass(frozen=True)
class IssuedPage:
    """What one issue told one person; `in_force`: not followed by another, nor taken back."""

    issue_uuid: UUID
    number: int
    issued_at: datetime
    page: DaysPage
    in_force: bool = True


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
    """A person's page: the issue in force, what is new, and turns of earlier issues that were withdrawn.

    `left`: they had a page and are no longer on the trip, so no turn of it is theirs.
    """

    place: Place
    issued: IssuedPage | None
    news: News
    withdrawn: dict[str, TurnPage]
    names: dict[str, str]
    left: bool = False


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


def issued_pages(place: Place) -> list[IssuedPage]:
    """What each issue of the trip told this person, oldest first; only this person's part is read."""
    own: Any = KeyTransform(str(place.uuid), KeyTransform(PEOPLE, "pages"))
    issues = Issue.objects.filter(rota__trip=place.trip).annotate(own=own).order_by("issued_at", "pk")
    rows = issues.values_list("uuid", "rota__number", "issued_at", "own", "rota__state")
    return [
        IssuedPage(uuid, number, issued_at, page_of(payload), state == RotaState.ISSUED)
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


def my_days(place: Place) -> MyDays:
    """Everything a person's days page shows, in three queries."""
    pages = issued_pages(place)
    notices = list(Notice.objects.filter(place=place).select_related("issue").order_by("issue__issued_at", "pk"))
    left = bool(pages) and place.state not in ON_TRIP
    if left:  # also before the next issue takes the turns away
        sessions = tuple(replace(one, turn=None, rest=None) for one in pages[-1].page.sessions)
        pages = [*pages, replace(pages[-1], page=replace(pages[-1].page, sessions=sessions))]
    issued = pages[-1] if pages else None
    return MyDays(place, issued, _news(pages, notices), _withdrawn(pages), names_of(place), left)


def names_of(place: Place) -> dict[str, str]:
    """The names of everybody with a place on the trip, by place key."""
    rows = Place.objects.filter(trip=place.trip_id).values_list("uuid", "participant__name")
    return {str(uuid): name for uuid, name in rows}


def _news(pages: list[IssuedPage], notices: list[Notice]) -> News:
    """Compare the issue in force with the one before the first notice that is not read, or else before the last."""
    unread = [notice for notice in notices if notice.read_at is None]
    if not unread or not pages:
        return News()
    before_first, before_last = (_last_before(pages, notice) for notice in (unread[0], unread[-1]))
    before = before_first or before_last
    found = changes(before.page, pages[-1].page) if before else ()
    return News(len(unread), first=before_first is None, changes=found)


def _last_before(pages: list[IssuedPage], notice: Notice) -> IssuedPage | None:
    """The page that the issue of a notice followed."""
    return next((page for page in reversed(pages) if page.issued_at < notice.issue.issued_at), None)


def _withdrawn(pages: list[IssuedPage]) -> dict[str, TurnPage]:
    """The last turn an earlier issue had in a session in which the issue in force has none."""
    found: dict[str, TurnPage] = {}
    for earlier in pages[:-1]:
        found |= {session.key: session.turn for session in earlier.page.sessions if session.turn}
    now = {session.key for session in pages[-1].page.sessions if session.turn} if pages else set()
    return {key: turn for key, turn in found.items() if key not in now}


def notices_untold(issue: Issue) -> list[Notice]:
    """The notices of an issue that were not mailed yet, of leaders and people who have an address, not of paper's."""
    notices = issue.notices.filter(told_at__isnull=True, place__participant__erased_at__isnull=True)
    rows = notices.select_related("place__participant__leader", "place__trip", "leader", "issue__rota__trip")
    return [notice for notice in rows.order_by("pk") if _mail_reaches(notice)]


def _mail_reaches(notice: Notice) -> bool:
    if notice.place is None:
        return bool(notice.leader and notice.leader.email)
    return bool(notice.place.participant.email) and not notice.place.participant.on_paper
