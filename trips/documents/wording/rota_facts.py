"""What the sentences about broken rules, conflicts and remedies have in common: names, numbers and what a rule says."""

from trips.core.rota.check.seating import Fault
from trips.core.rota.explain.conflicts import Help, Reason
from trips.documents.quantities import count_text
from trips.documents.wording.rota_names import RotaNames, listed


class RuleFacts:
    """One fault, reason or offer in words, piece by piece, ready for its sentence."""

    def __init__(self, item: Fault | Reason | Help, names: RotaNames) -> None:
        self.item = item
        self.names = names
        self.figures = dict(item.figures)
        self.who = names.persons(item.people)
        self.first = names.person(item.people[0]) if item.people else ""
        self.second = names.person(item.people[-1]) if item.people else ""
        self.when = names.session_list(item.sessions)
        self.inside = f" in {self.when}" if item.sessions else ""
        self.hide = names.hide_list(item.hides)
        self.either = names.hide_list(item.hides, "or")

    def verb(self, one: str, many: str) -> str:
        """The form that fits the number of people."""
        return one if len(self.item.people) == 1 else many

    def number(self, name: str) -> int:
        """A whole number."""
        return int(self.figures[name])

    def count(self, name: str, one: str, many: str | None = None) -> str:
        """A number with what it counts: "7 seats"."""
        return count_text(self.number(name), one, many)

    def allowed(self, name: str, one: str, many: str | None = None) -> str:
        """ "2 visits are allowed"."""
        return f"{self.count(name, one, many)} {'is' if self.number(name) == 1 else 'are'} allowed"

    @property
    def are(self) -> str:
        return self.verb("is", "are")

    @property
    def people(self) -> str:
        """How many people, and that they are not all where some have left for their hides."""
        return f"{self.count('people', 'person', 'people')}{self.gone}"

    @property
    def gone(self) -> str:
        return " besides those whose car has left" if "gone" in self.figures else ""

    @property
    def seats(self) -> str:
        return self.count("seats", "seat")

    @property
    def rests(self) -> str:
        """The rests that are allowed, where there are any."""
        return f", {self.count('rests', 'rest')} allowed" if self.number("rests") else ""

    @property
    def together(self) -> str:
        return f"{self.who} sit together always"

    @property
    def apart(self) -> str:
        return f"{self.who} are kept apart"

    @property
    def pinned(self) -> str:
        return f"{self.who} {self.are} pinned to {self.hide}{self.inside}"

    @property
    def not_available(self) -> str:
        return f"{self.hide} {'is' if len(self.item.hides) == 1 else 'are'} not available in {self.when}"

    @property
    def cannot_sit(self) -> str:
        """Hide by hide, what stands against the person."""
        told = []
        for person in self.item.people:
            for hide in self.item.hides:
                words = self.names.why_cannot_sit.get((person, hide), ())
                told.append(f"{self.names.hides[hide]} ({', '.join(words)})" if words else self.names.hides[hide])
        return listed(told)
