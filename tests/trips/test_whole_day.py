"""A whole day: five changes, three phones often without a network, a worker killed amid a mail, a wrong clock."""

from collections import Counter
from datetime import timedelta
from uuid import uuid4

import icalendar
import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from participants.models import Participant
from tests import factories
from tests.trips.day_pages import START, url
from tests.trips.issued_trips import issued_trip, phone_of
from trips.models import Happening, MailState, Notice
from trips.selectors.day_state import trip_day
from trips.services import notices
from trips.services.calendars import CalendarOf, calendar_bytes

pytestmark = pytest.mark.django_db
MINUTES, HOURS = timedelta(minutes=1), timedelta(hours=1)


class Phone:
    """Keeps forms by its own clock, which is `off`, and sends each twice once it has a network."""

    def __init__(self, browser, clock, off=timedelta()):
        self.browser, self.clock, self.off, self.kept = browser, clock, off, []

    def keep(self, path, **data):
        self.kept.append((self.clock.moment + self.off, path, data | {"client_uuid": str(uuid4())}))

    def send(self):
        for at, path, data in self.kept:
            waited_s = (self.clock.moment + self.off - at).total_seconds()
            headers = {"X-Queued": "1", "X-Queued-Seconds": str(round(waited_s))}
            for _ in range(2):
                answer = self.browser.post(path, data, headers=headers)
                assert answer.json()["taken"], answer.json()
        self.kept = []


class Day:
    """The trip with its three phones; everybody has read the first rota."""

    def __init__(self, clock):
        self.clock, self.trip = clock, issued_trip()
        self.sessions, self.hides = list(self.trip.sessions.all()), list(self.trip.sites.get().hides.all())
        self.places = list(self.trip.places.select_related("participant"))
        for number, place in enumerate(self.places):
            Participant.objects.filter(pk=place.participant.pk).update(email=f"p{number}@example.org")
        Notice.objects.update(mail="", read_at=START, confirmed_at=START)
        self.trip.co_leaders.add(factories.leader(username="rui", email="rui@example.org"))
        clock.moment = START - 65 * MINUTES
        self.leader, self.co_leader = Phone(Client(), clock), Phone(Client(), clock, off=3 * HOURS)
        self.leader.browser.force_login(self.trip.leader)
        self.co_leader.browser.force_login(self.trip.co_leaders.get())
        self.participant = Phone(phone_of(self.places[2].participant), clock)

    def key(self, number):
        return f"place-{self.places[number].uuid}"

    def tick(self, phone, number, what):
        phone.keep(url("out-tick", self.trip, self.sessions[0]), who=self.key(number), what=what)

    def press(self, **data):
        """A change on the board; a draft that follows is issued."""
        answer = self.leader.browser.post(url("board-change", self.trip), data)
        draft = self.trip.rotas.filter(state="draft").first()
        if draft is not None:
            self.leader.browser.post(answer.url, {"seen_version": draft.version})

    def told(self):
        """Whom the outbox's mails reached since the last look."""
        mail.outbox.clear()
        while notices.notices_send():
            pass
        return sorted(one.to[0][:2] for one in mail.outbox)

    def sequences(self):
        """SEQUENCE of each calendar entry that is not 0, by the person's number and the session's."""
        found = {}
        for number, place in enumerate(self.places):
            events = icalendar.Calendar.from_ical(calendar_bytes(CalendarOf(self.trip, place=place))).events
            turns = sorted((one["dtstart"].dt, one["sequence"]) for one in events if hasattr(one["dtstart"].dt, "hour"))
            assert len(turns) == len(self.sessions)
            found |= {(number, session): told for session, (_, told) in enumerate(turns) if told}
        return found


@pytest.fixture
def day(clock):
    return Day(clock)


def killed(monkeypatch, day):
    """A worker that ends between its claim of a mail and the mail server."""

    def ends(notice):
        raise SystemExit

    with monkeypatch.context() as patched:
        patched.setattr(notices, "notice_mail_send", ends)
        with pytest.raises(SystemExit):
            notices.notices_send()
    assert Notice.objects.filter(mail=MailState.WAITING, mail_tries=1).count() == 1


def test_a_whole_day_takes_each_change_once_and_tells_only_those_affected(day, clock, monkeypatch):
    assert day.sequences() == {}
    day.press(what="swap", who=day.key(0), other=day.key(2))  # 1: at 05:40, by a new number
    killed(monkeypatch, day)
    assert day.told() == ["p2"]
    clock.moment += notices.CLAIM
    assert day.told() == ["p0"]
    first_session = {(number, 0): 1 for number in range(4)}  # entries name the company, which is new to all four
    assert day.sequences() == first_session

    day.tick(day.co_leader, 3, "not_coming")  # 2: without a network, its clock three hours ahead
    clock.moment = START - 20 * MINUTES
    for number in (0, 1, 2):
        day.tick(day.co_leader, number, "out")
    clock.moment = START + 75 * MINUTES
    day.press(what="close", span="this", hide=day.hides[0].uuid)  # 3: under way
    assert day.told() == ["p1", "p2"]
    into = {"what": "give", "hide": day.hides[2].uuid, "session": day.sessions[0].uuid}
    day.press(who=day.key(2), **into)
    assert day.told() == ["p2"]
    page = day.participant.browser.get(reverse("trips:my-days", args=[day.places[2].participant.uuid])).context
    read = {"issue": page["days"].issued.issue_uuid, "day": page["days"].today_last}
    path = reverse("trips:my-days-read", args=[day.places[2].participant.uuid])
    day.participant.keep(path, trip=day.trip.uuid, **read)
    day.press(who=day.key(1), **into)
    assert day.told() == ["p1", "p2"]
    day.co_leader.send()
    day.participant.send()
    assert day.told() == []
    unread = Notice.objects.filter(place=day.places[2], read_at=None)
    assert [row.happening.place for row in unread] == [day.places[1]]

    clock.moment = START + 165 * MINUTES
    day.tick(day.co_leader, 0, "left_early")  # 4: sent hours later
    clock.moment = START + 245 * MINUTES
    for number in (0, 1, 2):
        day.tick(day.leader, number, "back")
    day.leader.send()
    day.co_leader.send()
    clock.moment = START + 6 * HOURS
    day.press(what="swap", who=day.key(1), other=day.key(3))  # 5: in the afternoon, by a new number
    assert day.told() == ["p1", "p3"]
    assert day.sequences() == first_session | {(number, 1): 1 for number in range(4)}

    noted = Counter(Happening.objects.values_list("kind", flat=True))
    assert noted == {"not_coming": 1, "out": 3, "hide_closed": 1, "moved": 2, "left_early": 1, "back": 3}
    assert Happening.objects.get(kind="not_coming").at - (START - 60 * MINUTES) < MINUTES
    assert Notice.objects.filter(mail=MailState.SENT).count() == 9 == Notice.objects.exclude(mail="").count()
    state = trip_day(day.trip, now=clock.moment)
    assert not state.state.overdue
    sat = {(one.person, one.hide): round(one.minutes) for one in state.sat[str(day.sessions[0].uuid)]}
    first, second, third = (str(hide.uuid) for hide in day.hides)
    assert sat == {
        (day.key(0), second): 165,
        (day.key(1), first): 75,
        (day.key(1), third): 165,
        (day.key(2), first): 75,
        (day.key(2), third): 165,
    }
