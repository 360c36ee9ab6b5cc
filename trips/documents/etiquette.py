"""How people behave in a shared hide. Common practice, no source; the hide's own rules come after these."""

from dataclasses import replace

from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from trips.documents.briefing import Etiquette

SHARED_HIDE = (
    Etiquette(noted("Talk"), noted("Whisper, and only when nothing is near. Agree on hand signs before you start.")),
    Etiquette(
        noted("Phone"),
        noted("Silent, screen dark, no calls and no vibration. Tell the other before you switch on a light."),
    ),
    Etiquette(
        noted("Lens movement"),
        noted(
            "Move the lens slowly, and only while the animal looks away or is behind cover. No lens goes further "
            "out of the opening than it stood at the start."
        ),
    ),
    Etiquette(noted("Bags"), noted("One bag a seat, closed, under your own seat. The way to the door stays free.")),
    Etiquette(
        noted("Stepping out"),
        noted(
            "Only the person the other one agrees with, only when nothing is on the perch, by the door away from "
            "the water, and where the doors are closed for the session not at all."
        ),
    ),
    Etiquette(
        noted("Leaving early"),
        noted(
            "Give the agreed signal and wait inside until you are fetched. Nobody walks back alone or in front of "
            "the hide; the other one is told first and keeps the seat."
        ),
    ),
    Etiquette(
        noted("Sharing a view"),
        noted("Who has the worse view goes first when something comes; swap at the agreed time."),
    ),
)
ALONE = (
    Etiquette(noted("Phone"), noted("Silent, screen dark. Keep it within reach: you are alone.")),
    Etiquette(
        noted("Lens movement"), noted("Move the lens slowly, and only while the animal looks away or is behind cover.")
    ),
    Etiquette(noted("Stepping out"), noted("Only in need, and where the doors are closed for the session not at all.")),
    Etiquette(
        noted("Leaving early"),
        noted("Give the agreed signal and wait inside until you are fetched. Do not walk back alone."),
    ),
)


def etiquette_for(shared: bool, own_rules: tuple[tuple[str, str], ...] = ()) -> tuple[Etiquette, ...]:
    """The rules for a person: of shared hides when one of the turns is shared, then each hide's own (name, rule)."""
    own = tuple(Etiquette(hide, rule.strip()) for hide, rule in own_rules if rule.strip())
    rules = SHARED_HIDE if shared else ALONE
    return (*(replace(rule, title=_(rule.title), text=_(rule.text)) for rule in rules), *own)
