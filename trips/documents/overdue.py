"""What to do when somebody is not back: the order in which help is called, for the leaders' page.

Common practice, no source: first the person, then whoever is near, then somebody goes there, then the owner, and the
emergency number at once where life may be in danger. It defers to the owner's and the rescue service's word.
"""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta

from participants.core.isolation import isolated
from trips.documents.quantities import TO_FOLLOW

DEFERS = (
    "This page helps to tell where the hide is. It is no permission and no advice: local law, the land owner and the "
    "rescue service decide."
)
AT_ONCE = "Anybody hurt, heat stroke, fire, water or a shot: begin with the last step."


@dataclass(frozen=True, slots=True)
class RescueFacts:
    """Whom to call and where to go. Empty = nobody entered it; `position`: the hide's, in degrees, or empty."""

    hide: str
    drive_min: float
    phones: tuple[tuple[str, str], ...] = ()
    radio: str = ""
    owner: str = ""
    owner_contact: str = ""
    emergency_number: str = ""
    rescue_point: str = ""
    nearest_road: str = ""
    position: str = ""
    walk_min: float = 0.0


@dataclass(frozen=True, slots=True)
class AlarmStep:
    """What to do, and from when on: by the site's clock, None where nobody is due."""

    text: str
    at: datetime | None = None


def escalation(facts: RescueFacts) -> tuple[str, ...]:
    """The steps in their order, each with the numbers and places it needs; what is missing reads "to follow"."""
    phones = ", ".join(f"{isolated(name)} {phone or '(no telephone)'}" for name, phone in facts.phones)
    radio = f" Radio: {facts.radio}." if facts.radio else ""
    owner = " ".join(isolated(part) for part in (facts.owner, facts.owner_contact) if part)
    position = f", position {facts.position}" if facts.position else ""
    return (
        f"Call: {phones or TO_FOLLOW}.{radio}",
        f"Two people drive to {isolated(facts.hide)}, about {facts.drive_min:g} min; "
        "one stays with the car and its telephone.",
        f"Tell the owner: {owner or TO_FOLLOW}.",
        f"Call {facts.emergency_number or 'the emergency number (' + TO_FOLLOW + ')'}: rescue point "
        f"{isolated(facts.rescue_point or TO_FOLLOW)}, nearest road "
        f"{isolated(facts.nearest_road or TO_FOLLOW)}{position}.",
    )


def timed_steps(
    facts: RescueFacts, due_at: datetime | None, *, overdue_min: float, mail_min: float
) -> tuple[AlarmStep, ...]:
    """The steps with their moments: calls when somebody is overdue, help on its way when the co-leaders get their
    mail, the emergency number once two people were there. Minutes count from `due_at`."""
    texts = escalation(facts)
    if due_at is None:
        return tuple(map(AlarmStep, texts))
    there_min = mail_min + facts.drive_min + facts.walk_min
    moments = (overdue_min, mail_min, mail_min, there_min)
    return tuple(
        AlarmStep(text, due_at + timedelta(minutes=minutes)) for text, minutes in zip(texts, moments, strict=True)
    )


@dataclass(frozen=True, slots=True)
class Dial:
    """A telephone number as it was typed, and as a telephone dials it."""

    typed: str
    dialled: str


_NUMBER = re.compile(r"\+?\d(?:[\s()./-]{0,2}\d){1,18}")


def numbers_in(text: str) -> tuple[Dial, ...]:
    """The telephone numbers in a typed text, "112 or +34 600 000 000": two digits at least, in their order."""
    return tuple(Dial(one, re.sub(r"[^+\d]", "", one)) for one in _NUMBER.findall(text))
