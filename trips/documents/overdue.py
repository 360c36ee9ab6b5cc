"""What to do when somebody is not back: the order in which help is called, for the leaders' page.

Common practice, no source: first the person, then whoever is near, then somebody goes there, then the owner, and the
emergency number at once where life may be in danger. It defers to the owner's and the rescue service's word.
"""

from dataclasses import dataclass

from participants.core.isolation import isolated
from trips.documents.quantities import TO_FOLLOW

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
