"""Who was told of what: the notices of a trip's issues, in the words that people read. Leaders only."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404

from participants.models import Participant
from trips.documents.changes import PageChange
from trips.documents.frozen_json import from_json
from trips.documents.wording.changes import change_sentence, mail_sentence
from trips.models import Issue, MailState, Notice, Place, Trip
from trips.models.rota import OF_DAY, OF_ISSUE
from trips.selectors.day_notices import OF_HAPPENING, day_sentence
from trips.selectors.my import LEADERS, PEOPLE
from trips.selectors.my_wishes import reader_name


@dataclass(frozen=True)
class ToldLine:
    """One person and one issue: what changed for them, how they are reached, how their mail stands, what is ticked."""

    notice: Notice
    name: str
    reach: str
    sentences: tuple[str, ...]
    mail: str = ""
    can_send: bool = False

    @property
    def open(self) -> bool:
        """Whether nobody knows yet that the person knows."""
        return self.notice.confirmed_at is None


@dataclass(frozen=True)
class ToldIssue:
    """An issue with its people, those who may not know yet first."""

    issue: Issue
    lines: tuple[ToldLine, ...]

    @property
    def open_count(self) -> int:
        """How many have not confirmed."""
        return sum(line.open for line in self.lines)


def addressee(place: Place | None, leader: Any, trip: Trip) -> Participant:
    """Whom a notice is for; a leader as a participant who is stored nowhere, in the trip's units."""
    if place is not None:
        return place.participant
    return Participant(name=reader_name(leader), email=leader.email, units=trip.units)


def is_told_by_leader(person: Participant) -> bool:
    """Whether no mail reaches them."""
    return person.on_paper or not person.email


def notices_due(now: datetime) -> list[Notice]:
    """Notices whose mail is to be sent now, the oldest first; a person's later mail waits for their earlier one.

    Who is overdue comes before all, and waits for nothing.
    """
    rows = Notice.objects.filter(mail=MailState.WAITING).order_by("issue__issued_at", "pk")
    of_session = ("session__trip__rules", "session__site", "hide", *OF_HAPPENING)
    rows = rows.select_related("place__participant__leader", "place__trip", "leader", "issue__rota__trip", *of_session)
    first: dict[tuple[int | None, ...], Notice] = {}
    waiting = rows.defer("issue__pages", "issue__papers", "issue__events")
    for notice in sorted(waiting, key=lambda one: one.session_id is None):
        first.setdefault((notice.place_id, notice.leader_id, notice.session_id, notice.hide_id), notice)
    return [notice for notice in first.values() if notice.mail_due_at is None or notice.mail_due_at <= now]


def reach_of(person: Participant) -> str:
    """How a person hears of an issue."""
    if person.on_paper:
        return "reads on paper: tell them"
    if person.email:
        return f"by e-mail to {person.email}"
    return f"no e-mail: tell them{f', phone {person.phone}' if person.phone else ''}"


def told_by_leader_count(issue: Issue) -> tuple[int, int]:
    """(how many people an issue changes something for, how many of them no mail reaches)."""
    notices = issue.notices.filter(session=None).select_related("place__participant", "leader")
    people = [addressee(notice.place, notice.leader, issue.rota.trip) for notice in notices]
    return len(people), sum(is_told_by_leader(person) for person in people)


def told_issues(trip: Trip) -> list[ToldIssue]:
    """The issues of a trip, the newest first, each with its notices; three queries."""
    notices = Notice.objects.filter(OF_ISSUE | OF_DAY, issue__rota__trip=trip)
    notices = notices.select_related("place__participant", "leader", "session__site", *OF_HAPPENING)
    by_issue: dict[int, list[ToldLine]] = {}
    for notice in notices.order_by("place__participant__name", "pk"):
        by_issue.setdefault(notice.issue_id, []).append(_line(notice, trip))
    issues = Issue.objects.filter(rota__trip=trip).select_related("rota", "by").defer("pages", "papers", "events")
    return [
        ToldIssue(issue, tuple(sorted(by_issue.get(issue.pk, []), key=lambda line: not line.open)))
        for issue in issues.order_by("-issued_at", "-pk")
    ]


def told_sentences(summary: dict[str, Any], units: str) -> tuple[str, ...]:
    """What a notice says, in the words that people read."""
    if summary.get("first"):
        return ("All their days.",)
    left = ("No longer on the trip.",) if summary.get("left") else ()
    changes = [from_json(PageChange, one) for one in summary.get("changes", [])]
    return (*left, *(change_sentence(change, units) for change in changes))


def _line(notice: Notice, trip: Trip) -> ToldLine:
    who = addressee(notice.place, notice.leader, trip)
    sentences = (day_sentence(notice),) if notice.happening else told_sentences(notice.summary, trip.units)
    on_its_way = notice.mail == MailState.WAITING and not notice.mail_fault
    can_send = not on_its_way and not is_told_by_leader(who)
    mail = mail_sentence(notice.mail, notice.mail_fault) if notice.mail != MailState.SENT else ""
    return ToldLine(notice, who.name, reach_of(who), sentences, mail, can_send)


def notice_for(trip: Trip, uuid: UUID | str) -> Notice:
    """The notice of that uuid on this trip."""
    notices = Notice.objects.filter(issue__rota__trip=trip, uuid=uuid).select_related("place__participant")
    return get_object_or_404(notices)


def told_last(trip: Trip) -> dict[str, dict[str, Any]]:
    """The page that each person was last told of: PEOPLE by place uuid, LEADERS by user name.

    Later changes too small to tell are not in it.
    """
    told = Notice.objects.filter(issue__rota__trip=trip, session=None).order_by("issue__issued_at", "pk")
    issues = {
        (PEOPLE, str(place)) if place else (LEADERS, leader): issue
        for place, leader, issue in told.values_list("place__uuid", "leader__username", "issue_id")
    }
    pages = dict(Issue.objects.filter(pk__in=set(issues.values())).values_list("pk", "pages"))
    found: dict[str, dict[str, Any]] = {PEOPLE: {}, LEADERS: {}}
    for (who, key), issue in issues.items():
        if (page := pages[issue].get(who, {}).get(key)) is not None:
            found[who][key] = page
    return found
