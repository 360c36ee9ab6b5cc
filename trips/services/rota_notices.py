"""Who would be told what if a draft were issued now."""

from dataclasses import dataclass

from trips.assemble.trip import trip_values
from trips.models import Issue, Place, Rota
from trips.selectors.told import reach_of, told_sentences
from trips.services.issue_payload import issue_contents


@dataclass(frozen=True)
class Told:
    """One person, how they hear of it and what they would read."""

    place: Place
    sentences: tuple[str, ...]
    reach: str


def who_is_told(rota: Rota) -> list[Told]:
    """Those affected, by name. Nothing is written."""
    last = Issue.objects.filter(rota__trip=rota.trip).order_by("-issued_at", "-pk").first()
    values = trip_values(rota.trip)
    contents = issue_contents(rota=rota, last=last, values=values)
    found = []
    for key, summary in contents.summaries.items():
        place = values.place_row(key)
        found.append(Told(place, told_sentences(summary, values.trip.units), reach_of(place.participant)))
    return found
