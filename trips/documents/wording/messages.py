"""Words of the messages that people send their leaders."""

from datetime import datetime

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from trips.documents.quantities import clock_text, short_day_text


def message_sentence(name: str, kind: str, sent_at: datetime, until_at: datetime | None, text: str) -> str:
    """A message in a line: "Sat 8 May, 06:10 Ana: I am late, until 07:30. “Flat tyre”". No `name`: one's own."""
    moment = f"{short_day_text(sent_at.date())}, {clock_text(sent_at)}"
    said = _("{what}, until {clock}", what=kind, clock=clock_text(until_at)) if until_at else kind
    who = f" {isolated(name)}" if name else ""
    return f"{moment}{who}: {said}." + (f" “{isolated(text)}”" if text else "")
