"""A person's cards on paper: one for each hide, with a row for each turn there."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from participants.core.isolation import isolated
from trips.documents.briefing import Etiquette, HideSafety
from trips.documents.briefing_cards import Card, is_long
from trips.documents.days import FillFact
from trips.documents.wording.reach import set_words
from trips.documents.wording.rota_names import starting

MIND_SHOWN = 4  # more than four are not read in the dark; common practice, no source


@dataclass(frozen=True, slots=True)
class FrameFills:
    """How large animals get with one set at one view. `card`: a turn with them."""

    card: Card
    fills: tuple[FillFact, ...]

    @property
    def set(self) -> str:
        """The set in words, with the view's name where the hide has another."""
        view = self.card.view
        if view is None or view.reach is None or view.reach.best is None:
            return ""
        words, name = set_words(view.reach.best), self.card.view_name
        return f"{words}, {isolated(name)}" if name else words


@dataclass(frozen=True, slots=True)
class HideCard:
    """The card of one hide: what holds for each of the person's turns there is told once, then each turn.

    `safety`: the way, the rescue point and the nearest road; None where the paper has none. `rule`: the hide's own.
    """

    cards: tuple[Card, ...]
    safety: HideSafety | None = None
    rule: str = ""

    @property
    def name(self) -> str:
        """The hide."""
        return self.cards[0].turn.hide

    @property
    def drawn(self) -> Card:
        """The turn of which the card has the drawing."""
        return next((card for card in self.cards if card.drawing), self.cards[0])

    @property
    def carry(self) -> tuple[str, ...]:
        """What to carry."""
        return self._told(lambda card: card.carry)

    @property
    def views(self) -> tuple[str, ...]:
        """The views of the hide, a line each."""
        return _once(line for card in self.cards for line in card.view_lines())

    @property
    def framings(self) -> tuple[FrameFills, ...]:
        """How large animals get with each set at each view, each animal once."""
        found: dict[object, dict[FillFact, Card]] = {}
        for card in self.cards:
            reach = card.view.reach if card.view else None
            if card.view and reach and reach.best:
                of_set = found.setdefault((card.view.number, reach.best), {})
                of_set.update((fill, card) for fill in card.fills if fill not in of_set)
        return tuple(FrameFills(next(iter(own.values())), tuple(own)) for own in found.values() if own)

    @property
    def mind(self) -> tuple[str, ...]:
        """What to mind in each turn here, four at most."""
        return self._minded[:MIND_SHOWN]

    @property
    def notes(self) -> tuple[str, ...]:
        """The rest: depth of field, background, and what is beyond the four to mind."""
        background = self._told(lambda card: card.background, lambda card: card.background_light)
        return (*self._minded[MIND_SHOWN:], *_once(line for card in self.cards for line in card.notes), *background)

    @property
    def general(self) -> tuple[str, ...]:
        """What may hold for other hides too; such a sentence is printed once in a paper."""
        return _once(line for card in self.cards for line in card.general)

    @property
    def _minded(self) -> tuple[str, ...]:
        return self._told(lambda card: card.always_minded)

    def _told(
        self, lines: Callable[[Card], Iterable[str]], when: Callable[[Card], str] = lambda card: card.name
    ) -> tuple[str, ...]:
        """Each sentence once; one that does not hold for all the turns here says when it does (`when`)."""
        told: dict[str, list[str]] = {}
        for card in self.cards:
            for line in lines(card):
                told.setdefault(line, []).append(when(card))
        every = {when(card) for card in self.cards}
        return tuple(
            line if every == set(own) else f"{starting('; '.join(dict.fromkeys(own)))}: {line}"
            for line, own in told.items()
        )


def by_hide(
    cards: tuple[Card, ...], safety: tuple[HideSafety, ...] = (), rules: tuple[Etiquette, ...] = ()
) -> tuple[HideCard, ...]:
    """A card for each hide, in the order of the first turn there. `rules`: those of hides have a hide's name."""
    groups: dict[str, list[Card]] = {}
    for card in cards:
        groups.setdefault(card.turn.hide_key, []).append(card)
    facts = {one.hide: one for one in safety}
    own_rules = {one.title: one.text for one in rules if not is_long(one.text)}
    names = {key: own[0].turn.hide for key, own in groups.items()}
    return tuple(
        HideCard(tuple(own), facts.get(names[key]), own_rules.get(names[key], "")) for key, own in groups.items()
    )


def _once(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lines))
