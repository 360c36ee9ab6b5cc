"""Who gets which answer from every named address. A new address needs its row here, or tests/test_access.py fails.

In the order of the columns: nobody (not signed in), the participant whom the address is about, another participant of
the same trip, the trip's leader, another leader. The words:

page     the page or file itself (200)
taken    the form was read: a page again, or a redirect onwards
sign-in  led to the leaders' sign-in
way-in   led to the participants' way in
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
    """The five answers of one address; `method`; `kwargs`: what the address is about, where its name is not enough."""

    nobody: str
    participant: str
    another_participant: str
    leader: str
    another_leader: str
    method: str = "get"
    kwargs: dict[str, Any] = field(default_factory=dict)

    def by_asker(self) -> dict[str, str]:
        """The answers by who asks."""
        return {asker: getattr(self, asker) for asker in ASKERS}


ASKERS = ("nobody", "participant", "another_participant", "leader", "another_leader")


def open_to_all(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """The same answer for everybody."""
    return Answers(answer, answer, answer, answer, answer, method, kwargs)


def leaders(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For the leaders of that trip, site or person; to others it does not exist."""
    return Answers("sign-in", "sign-in", "sign-in", answer, "none", method, kwargs)


def any_leader(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For every leader, about their own things."""
    return Answers("sign-in", "sign-in", "sign-in", answer, answer, method, kwargs)


def persons(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For that person, and for their leader who types for them."""
    return Answers("way-in", answer, "none", answer, "none", method, kwargs)


def own(answer: str = "page", method: str = "get", **kwargs: Any) -> Answers:
    """For that person alone."""
    return Answers("way-in", answer, "none", "none", "none", method, kwargs)


def posts(kind: Any, answer: str = "taken", **kwargs: Any) -> Answers:
    """A row of `kind` that takes POST alone."""
    row: Answers = kind(answer, "post", **kwargs)
    return row


ACCESS: dict[str, Answers] = {
    # --- the house
    "home": Answers("sign-in", "onwards", "onwards", "onwards", "onwards"),
    "sign-in": Answers("page", "page", "page", "onwards", "onwards"),
    "sign-out": posts(open_to_all, "sign-in"),
    "scheme-set": posts(open_to_all),
    # --- participants' way in
    "participants:service-worker": open_to_all(),
    "participants:link-ask": open_to_all(),
    "participants:link-open": open_to_all("none"),
    "participants:link-press": posts(open_to_all, "none"),
    "participants:participant-sign-out": posts(open_to_all),
    "participants:device-list": persons(),
    "participants:device-revoke": posts(persons),
    "participants:my-links-revoke": posts(persons),
    "participants:way-in-show": leaders(),
    "participants:way-in-mail": posts(leaders),
    "participants:way-in-hand": posts(leaders),
    "participants:way-in-revoke": posts(leaders),
    # --- trips and their rules
    "trips:glossary": open_to_all(),
    "trips:trip-list": any_leader(),
    "trips:trip-new": any_leader(),
    "trips:trip-show": leaders(),
    "trips:trip-edit": leaders(),
    "trips:rules-edit": leaders(),
    "trips:rules-default": leaders(),
    "trips:marks-edit": leaders(),
    "trips:marks-default": leaders(),
    # --- people of a trip
    "trips:person-list": leaders(),
    "trips:person-new": leaders(),
    "trips:person-join": posts(leaders),
    "trips:person-edit": leaders(),
    "trips:place-edit": leaders(),
    "trips:absences-edit": posts(leaders),
    "trips:person-remove": posts(leaders),
    "trips:pairing-list": leaders(),
    "trips:pairing-delete": posts(leaders),
    "trips:gear-table": leaders(),
    "trips:kit-export": leaders(),
    "trips:people-export": leaders(),
    "trips:people-import": leaders(),
    # --- sites, hides, light
    "trips:trip-hides": leaders(),
    "trips:trip-light": leaders(),
    "trips:site-new": any_leader(),
    "trips:site-edit": leaders(),
    "trips:hide-new": leaders(),
    "trips:hide-edit": leaders(),
    "trips:hide-light": leaders(),
    "trips:hide-remove": posts(leaders),
    "trips:hide-survey": leaders(),
    "trips:leader-contact": any_leader(),
    "trips:hide-subjects": leaders(),
    "trips:seat-table": leaders(),
    "trips:subject-list": any_leader(),
    "trips:subject-new": any_leader(),
    "trips:subject-edit": leaders(),
    "trips:subject-remove": posts(leaders),
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
    "trips:day-show": leaders(),
    "trips:cars-edit": leaders(),
    "trips:owner-edit": leaders(),
    "trips:runs-edit": leaders(),
    "trips:out-show": leaders(),
    "trips:out-tick": posts(leaders),
    # --- a participant's own pages
    "trips:my-start": persons("onwards"),
    "trips:my-pack": own(),
    "trips:my-days": persons(),
    "trips:my-days-read": posts(own),
    "trips:my-drawing": persons(number=0),
    "trips:my-wishes": persons(),
    "trips:my-details": persons(),
    "trips:my-health": persons(),
    "trips:my-data": persons(),
    "trips:my-data-file": posts(own),
    "trips:my-data-erase": posts(persons),
    "trips:my-briefing": persons(),
    "trips:my-briefing-file": persons(),
    "trips:my-calendar": persons(),
    "trips:my-calendar-file": persons(),
    "trips:my-calendar-replace": posts(persons),
    "trips:kit-show": persons(),
    "trips:kit-picture": persons(),
    "trips:picture-save": persons(),
    "trips:piece-new": persons(),
    "trips:piece-try": posts(persons),
    "trips:piece-edit": persons(),
    "trips:piece-remove": posts(persons),
    "trips:packing-show": persons(),
}
