"""The card that hangs inside a hide's door. It carries the hide's position, so it is for the hide alone."""

from dataclasses import dataclass

from trips.documents.briefing import Etiquette, PaperHead
from trips.documents.quantities import Fact


@dataclass(frozen=True, slots=True)
class DoorCard:
    """What somebody in the hide reads out on the telephone, and how to behave there.

    `call`: the emergency number; `coverage`: where a phone works. `written`: what is filled in by hand, as nobody has
    measured it yet. `defers`: what comes before the card.
    """

    head: PaperHead
    hide: str
    call: Fact
    coverage: Fact
    emergency: tuple[Fact, ...]
    written: tuple[str, ...] = ()
    facts: tuple[Fact, ...] = ()
    cautions: tuple[str, ...] = ()
    etiquette: tuple[Etiquette, ...] = ()
    defers: str = ""
