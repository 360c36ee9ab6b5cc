"""How many words a reader sees on each page of the demo trip: at first glance, folded away, and in the navigation.

`script/words` prints them. The module asks little of the house, so that it counts an older checkout too.
"""

import json
import os
import re
import sys
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urlsplit

WORD = re.compile(r"[^\W_]+(?:[-–’'.,:/\u2068\u2069][^\W_]+)*")  # "05:57", "front-light" and "0.88" are one word each
EMPTY = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
UNSEEN = {
    "script",
    "style",
    "template",
    "head",
    "datalist",
    "svg",
    "meter",
}  # labels in a drawing are part of the picture
NAVIGATION = {"header", "footer", "nav"}
NOT_PAGES = ("/admin", ".csv", ".json", ".pdf", ".ics", ".zip", "/static/", "/media/")


@dataclass
class Words:
    """Numbers of words: at first glance, in what is folded, and in navigation."""

    seen: int = 0
    folded: int = 0
    navigation: int = 0


class _Reader(HTMLParser):
    """Reads a page as a browser shows it: what is folded, hidden, or for screen readers alone stands apart."""

    def __init__(self) -> None:
        super().__init__()
        self.words = Words()
        self.open: list[tuple[str, str]] = []  # element and how its text counts: "" as around it

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        given = dict(attributes)
        if tag == "input" and given.get("type") in {"submit", "button"}:
            self._count(given.get("value") or "")
        if tag not in EMPTY:
            self.open.append((tag, _part(tag, given, self.open)))

    def handle_endtag(self, tag: str) -> None:
        if tag in [name for name, _part in self.open]:
            while self.open.pop()[0] != tag:
                pass

    def handle_data(self, data: str) -> None:
        self._count(data)

    def _count(self, text: str) -> None:
        parts = {part for _name, part in self.open}
        number = len(WORD.findall(text))
        if "unseen" in parts:
            return
        if "navigation" in parts:
            self.words.navigation += number
        elif "folded" in parts and not self._is_summary():
            self.words.folded += number
        else:
            self.words.seen += number

    def _is_summary(self) -> bool:
        """Whether the innermost fold shows these words while it is closed, and no fold around it is closed."""
        folds = [at for at, (_name, part) in enumerate(self.open) if part == "folded"]
        return len(folds) == 1 and any(name == "summary" for name, _part in self.open[folds[0] :])


def _part(tag: str, given: dict[str, str | None], around: list[tuple[str, str]]) -> str:
    classes = (given.get("class") or "").split()
    if tag in UNSEEN or "hidden" in given or {"visually-hidden", "skip-link", "d-none"} & set(classes):
        return "unseen"
    if tag == "option" and "selected" not in given:  # a closed list shows its choice alone
        return "unseen"
    if tag in NAVIGATION:
        return "navigation"
    return "folded" if tag == "details" and "open" not in given else ""


def words_of(page: str) -> Words:
    """The words of an HTML page."""
    reader = _Reader()
    reader.feed(page)
    return reader.words


def pages_from(client: Any, first: str) -> Iterator[tuple[str, Words]]:
    """The name and the words of every page that links lead to from the first one, one page of each name."""
    from django.urls import Resolver404, resolve

    waiting, done = deque([first]), set()
    while waiting:
        path = waiting.popleft()
        try:
            name = resolve(path).view_name
        except Resolver404:
            continue
        if name in done or any(part in path for part in NOT_PAGES):
            continue
        answer = client.get(path, follow=True)
        if answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html"):
            done.add(name)
            text = answer.content.decode()
            yield name, words_of(text)
            found = (urlsplit(link) for link in re.findall(r'<a\b[^>]*?href="([^"#]+)', text, re.DOTALL))
            waiting.extend(link.path for link in found if link.path.startswith("/") and not link.netloc)


def demo_words() -> dict[str, Words]:
    """The pages of the leader and of the first participant of the demo trip, planned and issued; by page."""
    from django.core.management import call_command
    from django.test import Client
    from django.utils import timezone

    from tests.trips.issued_trips import phone_of
    from trips.models import Trip
    from trips.services.rota import rota_issue

    with open(os.devnull, "w") as nowhere:
        call_command("migrate", verbosity=0)
        call_command("load_demo", stdout=nowhere)
        trip = Trip.objects.select_related("leader").get()
        call_command("plan", str(trip.uuid), "--seed", "1", stdout=nowhere, stderr=nowhere)
    rota_issue(rota=trip.rotas.get(), by=trip.leader, now=timezone.now())
    leader = Client()
    leader.force_login(trip.leader)
    place = trip.places.filter(photographs=True).order_by("participant__name").first()
    found = {f"leader {name}": words for name, words in pages_from(leader, "/trips/")}
    phone = phone_of(place.participant)
    first = f"/my/{place.participant.uuid}/days/"
    return found | {f"phone {name}": words for name, words in pages_from(phone, first)}


if __name__ == "__main__":
    sys.path.insert(0, os.getcwd())
    import django

    django.setup()
    from django.conf import settings
    from django.test.utils import setup_test_environment

    setup_test_environment()
    settings.SECURE_SSL_REDIRECT = False
    print(json.dumps({name: vars(words) for name, words in demo_words().items()}))
