"""What issues, rotas and runs still keep of somebody who was erased: their turns, without a name and their gear."""

import re
from collections.abc import Iterable
from typing import Any

from participants.core.isolation import typed_text
from trips.models import Change, Happening, IncidentRecord, Issue, Making, Notice, PaperPack, Place, Rest, Rota, Turn
from trips.models.paper import ACTIVE_PACK_STATES
from trips.selectors.my import PEOPLE

ERASED_NAME = "Erased person"
GEAR_FACTS = ("views", "windows", "packing")  # of a person's papers; windows: as views were once kept
NO_SET: dict[str, Any] = {  # of a view on a person's page
    **dict.fromkeys(("reach", "still", "moving", "carry", "circle_mm")),
    **{name: [] for name in ("fills", "depths", "rows", "steps")},
}


def place_unnamed(place: Place, name: str) -> set[str]:
    """Take a person out of what issues, rotas and changes of the trip keep; returns every name they were told under.

    Packs of papers that were printed hold the name in a form that cannot be mended: they go, and are printed anew.
    """
    issues = list(Issue.objects.filter(rota__trip=place.trip_id))
    names = {name} | {_own_papers(issue, place)["name"] for issue in issues if _own_papers(issue, place)}
    names |= {typed_text(one) for one in names}
    for issue in issues:
        _gear_taken_out(issue, place)
        issue.pages, issue.papers, issue.events = (
            unnamed(kept, names) for kept in (issue.pages, issue.papers, issue.events)
        )
        issue.version += 1  # feeds are fetched anew
        issue.save(update_fields=["pages", "papers", "events", "version"])
    for change in Change.objects.filter(rota__trip=place.trip_id):
        change.old, change.new, change.why = (unnamed(kept, names) for kept in (change.old, change.new, change.why))
        change.save(update_fields=["old", "new", "why"])
    _rotas_unnamed(place, names)
    for noted in Happening.objects.filter(trip=place.trip_id).exclude(note=""):
        Happening.objects.filter(pk=noted.pk).update(note=unnamed(noted.note, names)[:300])
    for notice in Notice.objects.filter(place=place):
        told = [change for change in notice.summary.get("changes", []) if change["kind"] != "pieces"]
        Notice.objects.filter(pk=notice.pk).update(summary=notice.summary | {"changes": told})
    for record in IncidentRecord.objects.filter(trip=place.trip_id):
        IncidentRecord.objects.filter(pk=record.pk).update(paper=unnamed(record.paper, names))
    for alarm in Notice.objects.filter(session__trip=place.trip_id):
        Notice.objects.filter(pk=alarm.pk).update(summary=unnamed(alarm.summary, names))
    PaperPack.objects.filter(trip=place.trip_id).exclude(state__in=ACTIVE_PACK_STATES).delete()
    return names


def _rotas_unnamed(place: Place, names: set[str]) -> None:
    """What rotas say of people in sentences: counts, guarantees, why somebody sits or rests there."""
    for rota in Rota.objects.filter(trip=place.trip_id):
        Rota.objects.filter(pk=rota.pk).update(result=unnamed(rota.result, names))
    for turn in Turn.objects.filter(rota__trip=place.trip_id).exclude(reasons=[], leader_reasons=[]):
        said = {column: unnamed(getattr(turn, column), names) for column in ("reasons", "leader_reasons")}
        Turn.objects.filter(pk=turn.pk).update(**said)
    for rest in Rest.objects.filter(rota__trip=place.trip_id).exclude(reason=""):
        Rest.objects.filter(pk=rest.pk).update(reason=unnamed(rest.reason, names)[:300])


def runs_unnamed(*, leader: Any, names: Iterable[str]) -> None:
    """Take a person out of why runs made no rota, on any trip of their leader: their place may be gone since."""
    for making in Making.objects.filter(trip__leader=leader).exclude(explanation={}):
        Making.objects.filter(pk=making.pk).update(explanation=unnamed(making.explanation, names))


def unnamed(kept: Any, names: Iterable[str]) -> Any:
    """Plain JSON with names replaced wherever they stand as a whole in a text; keys are left alone."""
    longest_first = sorted(names, key=len, reverse=True)
    pattern = re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?!\w)")

    def replaced(value: Any) -> Any:
        if isinstance(value, str):
            return pattern.sub(ERASED_NAME, value)
        if isinstance(value, list):
            return [replaced(one) for one in value]
        if isinstance(value, dict):
            return {key: replaced(one) for key, one in value.items()}
        return value

    return replaced(kept)


def _own_papers(issue: Issue, place: Place) -> dict[str, Any]:
    own: dict[str, Any] = issue.papers.get(PEOPLE, {}).get(str(place.uuid), {})
    return own


def _gear_taken_out(issue: Issue, place: Place) -> None:
    """Empty what the person was to pack and carry: of their papers, their page, and their lines of the day sheets.

    Their calendar's entries begin with the lens and go: nobody erased has a feed, and the next issue tells the turns.
    """
    own = _own_papers(issue, place)
    issue.events.get(PEOPLE, {}).pop(str(place.uuid), None)
    for day in issue.papers.get("days", []):
        for session in day["sessions"]:
            for seat in session["seats"]:
                if own and seat["person"] == own["name"]:
                    seat["lens"] = ""
    if own:
        own.update({name: [] for name in GEAR_FACTS if name in own})
    for session in issue.pages.get(PEOPLE, {}).get(str(place.uuid), {}).get("sessions", []):
        for view in (session["turn"] or {}).get("views", []):
            view.update(NO_SET)
