"""Who gets which answer from every named address. A new address needs its row here, or tests/test_access.py fails.

In the order of the columns: nobody (not signed in), the participant whom the address is about, another participant of
the same trip, the trip's leader, another leader. Further people ask too, with answers that follow from these:
a participant of another trip (as another participant), a leader whom the trip's leader took off it again, another
leader who put the site into a trip of theirs without a yes, and somebody of the staff without a trip (all as another
leader). `co_leader` says what a co-leader of the trip gets, who may do as its leader but for what is the leader's own.
The words:

page     the page or file itself (200)
taken    the form was read: a page again, or a redirect onwards
sign-in  led to the leaders' sign-in
sign-in page   led to the participants' sign-in page
none     404, as for an address that does not exist
gone     410, an address that was replaced
refused  403
onwards  led to another page (of one's own)

A row of `posts(...)` is asked by POST with an empty form, every other one by GET; what GET refuses to somebody, POST
must refuse too, and that is tried for all rows.
"""

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Answers:
    """The answers of one address; `method`; `kwargs`: what the address is about, where its name is not enough.

    `co_leader`: empty where a co-leader gets what the trip's leader gets.
    """

    nobody: str
    participant: str
    another_participant: str
    leader: str
    another_leader: str
    method: str = "get"
    kwargs: dict[str, Any] = field(default_factory=dict)
    co_leader: str = ""

    def by_asker(self) -> dict[str, str]:
        """The answers by who asks."""
        said = {asker: getattr(self, AS.get(asker, asker)) for asker in ASKERS}
        return said | {"co_leader": self.co_leader or self.leader}


AS = {
    "participant_elsewhere": "another_participant",
    "removed_co_leader": "another_leader",
    "uninvited_leader": "another_leader",
    "staff": "another_leader",
}
ASKERS = ("nobody", "participant", "another_participant", "leader", "another_leader", "co_leader", *AS)


def open_to_all(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """The same answer for everybody."""
    return Answers(answer, answer, answer, answer, answer, method, kwargs)


def leaders(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For the leaders of that trip, site or person; to others it does not exist."""
    return Answers("sign-in", "sign-in", "sign-in", answer, "none", method, kwargs)


def leaders_own(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For the own leader of that trip, site or person; a co-leader is like any other leader here."""
    return Answers("sign-in", "sign-in", "sign-in", answer, "none", method, kwargs, "none")


def any_leader(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For every leader, about their own things."""
    return Answers("sign-in", "sign-in", "sign-in", answer, answer, method, kwargs)


def persons(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For that person, and for their leader who types for them."""
    return Answers("sign-in page", answer, "none", answer, "none", method, kwargs)


def kept(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For that person, and for their own leader; not for a co-leader of a trip of theirs."""
    return Answers("sign-in page", answer, "none", answer, "none", method, kwargs, "none")


def own(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For that person alone."""
    return Answers("sign-in page", answer, "none", "none", "none", method, kwargs)


def posts(kind: Any, answer: str = "taken", **kwargs: Any) -> Answers:
    """A row of `kind` that takes POST alone."""
    row: Answers = kind(answer, "post", **kwargs)
    return row


ACCESS: dict[str, Answers] = {
    # --- the house
    "home": Answers("sign-in", "onwards", "onwards", "onwards", "onwards"),
    "sign-in": Answers("page", "page", "page", "onwards", "onwards"),
    "sign-in-code": open_to_all("sign-in"),
    "sign-in-to-admin": Answers("page", "page", "page", "onwards", "onwards"),
    "sign-in-show": any_leader(),
    "sessions-end": posts(any_leader, "sign-in"),
    "two-steps-begin": any_leader(),
    "two-steps-change": posts(any_leader),
    "sign-out": posts(open_to_all, "sign-in"),
    "scheme-set": posts(open_to_all),
    "health": open_to_all(),
    "manifest": open_to_all(),
    "password-change": any_leader(),
    "password-forgotten": open_to_all(),
    "password-mailed": open_to_all(),
    "password-new": open_to_all(uidb64="MQ", token="used-up"),
    "password-chosen": open_to_all(),
    # --- participants' sign-in page
    "participants:service-worker": open_to_all(),
    "participants:link-ask": open_to_all(),
    "participants:link-open": open_to_all("none"),
    "participants:link-press": posts(open_to_all, "none"),
    "participants:participant-sign-out": posts(open_to_all),
    "participants:device-list": kept(),
    "participants:device-revoke": posts(kept),
    "participants:my-links-revoke": posts(kept),
    "participants:sign-in-link-show": leaders_own(),
    "participants:sign-in-link-mail": posts(leaders_own),
    "participants:sign-in-link-hand": posts(leaders_own),
    "participants:sign-in-link-revoke": posts(leaders_own),
    # --- trips and their rules
    "trips:glossary": open_to_all(),
    "trips:handbook": open_to_all(),
    "trips:methods": open_to_all(),
    "trips:trip-list": any_leader(),
    "trips:trip-new": any_leader(),
    "trips:leader-edit": any_leader(),
    "trips:trip-show": leaders(),
    "trips:trip-edit": leaders(),
    "trips:rules-edit": leaders(),
    "trips:rules-default": leaders(),
    "trips:scoring-edit": leaders(),
    "trips:scoring-default": leaders(),
    # --- people of a trip
    "trips:person-list": leaders(),
    "trips:people-confirm": posts(leaders),
    "trips:person-new": leaders(),
    "trips:person-join": posts(leaders_own),
    "trips:person-edit": leaders(),
    "trips:place-edit": leaders(),
    "trips:absences-edit": posts(leaders),
    "trips:person-remove": posts(leaders),
    "trips:pairing-list": leaders(),
    "trips:pairing-delete": posts(leaders),
    "trips:gear-table": leaders(),
    "trips:gear-away-new": leaders(),
    "trips:gear-away-edit": leaders(),
    "trips:gear-away-remove": posts(leaders),
    "trips:gear-export": leaders(),
    "trips:people-export": leaders(),
    "trips:people-import": leaders(),
    # --- sites, hides, light
    "trips:trip-hides": leaders(),
    "trips:trip-light": leaders(),
    "trips:site-new": any_leader(),
    "trips:site-edit": leaders(),
    "trips:planner-allow": posts(leaders_own),
    "trips:planner-refuse": posts(leaders_own),
    "trips:site-address": posts(leaders_own),
    "trips:hide-new": leaders(),
    "trips:hide-edit": leaders(),
    "trips:hide-light": leaders(),
    "trips:hide-remove": posts(leaders_own),
    "trips:hide-survey": leaders(),
    "trips:leader-contact": any_leader(),
    "trips:hide-subjects": leaders(),
    "trips:seat-table": leaders(),
    "trips:subject-list": any_leader(),
    "trips:subject-new": any_leader(),
    "trips:subject-edit": leaders(),
    "trips:subject-remove": posts(leaders_own),
    # --- sessions
    "trips:session-list": leaders(),
    "trips:sessions-make": leaders(),
    "trips:session-new": leaders(),
    "trips:session-edit": leaders(),
    "trips:session-remove": posts(leaders),
    # --- meals
    "trips:meal-list": leaders(),
    "trips:meals-copy": posts(leaders),
    "trips:meal-edit": leaders(),
    "trips:meal-remove": posts(leaders),
    # --- rotas
    "trips:rota-show": leaders(),
    "trips:rota-number": leaders(),
    "trips:rota-broken": leaders(),
    "trips:rota-make": leaders(),
    "trips:rota-making": leaders(),
    "trips:rota-stop": posts(leaders),
    "trips:remedy-take": posts(leaders, number=0),
    "trips:rota-history": leaders(),
    "trips:rota-issue": leaders(),
    "trips:rota-change": posts(leaders),
    "trips:rota-withdraw": posts(leaders),
    "trips:told-list": leaders(),
    "trips:told-tick": posts(leaders),
    "trips:turn-edit": leaders(),
    "trips:turn-why": leaders(),
    "trips:turn-pin": posts(leaders),
    "trips:turn-undo": posts(leaders),
    # --- papers and calendars
    "trips:papers": leaders(),
    "trips:papers-print": posts(leaders),
    "trips:papers-made": leaders("onwards"),
    "trips:papers-pack": leaders(),
    "trips:papers-address": posts(leaders),
    "trips:feed-show": open_to_all("none"),
    # --- on the day
    "trips:board-show": leaders(),
    "trips:board-sheet": leaders(kind="person"),
    "trips:board-change": posts(leaders),
    "trips:board-move": leaders(),
    "trips:board-note-undo": posts(leaders),
    "trips:message-read": posts(leaders),
    "trips:board-repair": leaders("onwards"),
    "trips:board-confirm": leaders(),
    "trips:day-show": leaders(),
    "trips:cars-edit": leaders(),
    "trips:availability-edit": leaders(),
    "trips:runs-edit": leaders(),
    "trips:out-show": leaders(),
    "trips:out-tick": posts(leaders),
    "trips:emergency-show": leaders(),
    "trips:leader-pack": leaders(),
    "trips:incident-list": leaders(),
    "trips:incident-file": leaders(),
    "trips:driver-lists": leaders(),
    "trips:driver-link": posts(leaders),
    "trips:driver-list-show": open_to_all("none"),
    # --- a participant's own pages
    "trips:my-start": persons("onwards"),
    "trips:my-pack": own(),
    "trips:my-days": persons(),
    "trips:my-days-read": posts(own),
    "trips:my-message": persons(),
    "trips:my-drawing": persons(number=0),
    "trips:my-wishes": persons(),
    "trips:my-details": persons(),
    "trips:my-health": persons(),
    "trips:my-data": kept(),
    "trips:my-data-file": posts(own),
    "trips:my-data-erase": posts(kept),
    "trips:my-briefing": persons(),
    "trips:my-briefing-file": persons(),
    "trips:my-calendar": persons(),
    "trips:my-calendar-file": persons(),
    "trips:my-calendar-replace": posts(kept),
    "trips:gear-show": persons(),
    "trips:gear-picture": persons(),
    "trips:picture-save": persons(),
    "trips:piece-new": persons(),
    "trips:piece-try": posts(persons),
    "trips:piece-edit": persons(),
    "trips:piece-remove": posts(persons),
    "trips:piece-lost": persons(),
    "trips:piece-found": posts(persons),
    "trips:packing-show": persons(),
}
