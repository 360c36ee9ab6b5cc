"""Who would be told what if a draft were issued now."""

from dataclasses import dataclass

from trips.assemble.trip import trip_values
from trips.documents.changes import Change
from trips.documents.stored import from_json
from trips.documents.wording.changes import change_sentence
from trips.models import Issue, Place, Rota
from trips.services.issue_payload import issue_contents


@dataclass(frozen=True)
class Told:
    """One person and what they would read."""

    place: Place
    sentences: tuple[str, ...]
    by: str


def who_is_told(rota: Rota) -> list[Told]:
    """Those affected, by name. Nothing is written."""
    last = Issue.objects.filter(rota__trip=rota.trip).order_by("-issued_at", "-pk").first()
    values = trip_values(rota.trip)
    contents = issue_contents(rota=rota, last=last, values=values)
    found = []
    for key, summary in contents.summaries.items():
        place = values.place_row(key)
        changes = [from_json(Change, one) for one in summary["changes"]]
        told = [change_sentence(change, "en", values.trip.units) for change in changes]
        found.append(Told(place, ("All their days.",) if summary["first"] else tuple(told), _reached_by(place)))
    return found


def _reached_by(place: Place) -> str:
    person = place.participant
    if person.on_paper:
        return "told by you, on paper"
    return f"by e-mail to {person.email}" if person.email else "on their page"
