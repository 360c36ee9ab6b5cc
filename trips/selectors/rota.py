"""Rotas of a trip: the one to show, its changes, and what changed since it was made."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, Max, Q, QuerySet, Value
from django.shortcuts import get_object_or_404

from participants import models as people
from participants.core.isolation import isolated
from trips import models
from trips.assemble.cell_light import cell_key
from trips.documents.wording.turn_why import LEADER_WHY
from trips.models import Change, Hide, Issue, Place, Rota, RotaState, Seat, Session, Site, Subject, Trip

GEAR_OF_ROTAS = (people.Body, people.Lens, people.Converter, people.Tube)  # decides reach; the rest does not


def rotas_of(trip: Trip) -> list[Rota]:
    """All rotas of a trip, the newest first."""
    return list(trip.rotas.select_related("made_by", "follows").order_by("-number"))


def rota_for(trip: Trip, number: int) -> Rota:
    """The rota of that number; 404 where there is none."""
    return get_object_or_404(_whole(trip), number=number)


def rota_newest(trip: Trip) -> Rota | None:
    """The newest draft or the issued rota."""
    return _whole(trip).exclude(state=RotaState.RETIRED).order_by("-number").first()


def _whole(trip: Trip) -> QuerySet[Rota]:
    """Rotas with all that their page asks of their row, so that it asks once."""
    rotas = trip.rotas.select_related("made_by", "follows", "trip__leader", "trip__rules")
    return rotas.annotate(issued_moment=F("issue__issued_at"))


def change_for(rota: Rota, uuid: UUID | str) -> Change:
    """The change of that uuid."""
    return get_object_or_404(rota.changes, uuid=uuid)


def changes_of(rota: Rota) -> list[Change]:
    """What was changed by hand, the latest first."""
    return list(rota.changes.select_related("who").order_by("-when", "-pk"))


def last_standing(changes: list[Change]) -> Change | None:
    """The change to undo next: the latest of them that was not undone."""
    return next((change for change in changes if change.undone_at is None), None)


def changed_since(rota: Rota) -> datetime | None:
    """When anything that the rota was made from changed last, if that is after it was made. One query.

    A draft that was changed by hand was made anew then; another one when its inputs were read, before it was planned.
    """
    return _after(_last_changes(rota)[1], _made_at(rota))


def _made_at(rota: Rota) -> datetime:
    is_made_anew = rota.state == RotaState.DRAFT and rota.result.get("changed_by_hand")
    return rota.changed_at if is_made_anew else rota.made_at


def changes_since(rota: Rota) -> tuple[datetime | None, datetime | None]:
    """When anything changed since the rota was made, as `changed_since`, and drives since it was issued; one query."""
    drives, anything = _last_changes(rota)
    issued_at = _issued_at(rota)
    return _after(anything, _made_at(rota)), _after(drives, issued_at) if issued_at else None


def changed_since_issue(rota: Rota) -> tuple[datetime | None, datetime | None]:
    """When cars, runs or drops changed last, and when anything else that an issued rota rests on did; two queries.

    None for what did not change since it was issued, and for a draft: its times are worked out when they are shown.
    """
    issued_at = _issued_at(rota)
    if issued_at is None:
        return None, None
    drives, anything = _last_changes(rota)
    return _after(drives, issued_at), _after(anything, issued_at)


def issued_stale(trip: Trip) -> Rota | None:
    """The issued rota, where anything that it rests on changed since; at most two queries."""
    issued = _whole(trip).filter(state=RotaState.ISSUED).first()
    return issued if issued is not None and any(changed_since_issue(issued)) else None


def _after(moment: datetime | None, since: datetime) -> datetime | None:
    return moment if moment is not None and moment > since else None


def _last_changes(rota: Rota) -> tuple[datetime | None, datetime | None]:
    """When drives changed last, and when anything that the rota is made from did, in one query."""
    trip = Trip.objects.filter(pk=rota.trip_id).order_by()
    driven = trip.filter(Exists(_driven_cars(rota.trip)) | Exists(_driven_runs(rota.trip)))
    rows = [(True, source, "changed_at") for source in _drive_sources(rota)]
    rows += [(False, source, "changed_at") for source in _sources(rota.trip)]
    rows += [(True, trip, "drives_changed_at"), (False, driven, "drives_changed_at"), (False, trip, "parts_changed_at")]
    first, *rest = [
        source.order_by().annotate(of_drives=Value(of_drives)).values("of_drives").annotate(at=Max(column))
        for of_drives, source, column in rows
    ]
    found = list(first.union(*rest, all=True).values_list("of_drives", "at"))
    drives, anything = ([at for of_drives, at in found if at and bool(of_drives) == kind] for kind in (True, False))
    return max(drives, default=None), max(anything, default=None)


def _issued_at(rota: Rota) -> datetime | None:
    """When a rota in force was issued; None of a draft, and of one that is no longer in force."""
    if rota.state != RotaState.ISSUED:
        return None
    if hasattr(rota, "issued_moment"):
        return rota.issued_moment
    issued = Issue.objects.filter(rota=rota.pk, rota__state=RotaState.ISSUED)
    return issued.values_list("issued_at", flat=True).first()


def _drive_sources(rota: Rota) -> list[QuerySet[Any]]:
    """The rows that drives are made from."""
    return [
        models.Car.objects.filter(trip=rota.trip_id),
        models.Run.objects.filter(session__trip=rota.trip_id),
        models.RunStop.objects.filter(run__session__trip=rota.trip_id),
    ]


def _driven_cars(trip: Trip) -> QuerySet[Any]:
    """The cars that somebody of the trip drives: they keep their drivers out of hides."""
    return trip.cars.filter(Q(driver_place__isnull=False) | Q(driver_leader__isnull=False))


def _driven_runs(trip: Trip) -> QuerySet[Any]:
    """The runs that somebody of the trip drives."""
    own = Q(driver_place__isnull=False) | Q(driver_leader__isnull=False)
    return models.Run.objects.filter(own | Q(driver="", car__in=_driven_cars(trip)), session__trip=trip)


def _sources(trip: Trip) -> list[QuerySet[Any]]:
    """The rows that a rota is made from; pins are left out, the checker asks for them."""
    gear = [model.objects.filter(participant__places__trip=trip) for model in GEAR_OF_ROTAS]
    return [
        models.TripRules.objects.filter(trip=trip),
        trip.sessions.all(),
        trip.places.all(),
        trip.pairings.all(),
        Hide.objects.filter(site__trips=trip),
        Seat.objects.filter(hide__site__trips=trip),
        models.View.objects.filter(hide__site__trips=trip),
        models.HideSubject.objects.filter(hide__site__trips=trip),
        Site.objects.filter(trips=trip),
        Subject.objects.filter(hide_subjects__hide__site__trips=trip),
        models.SessionHide.objects.filter(session__trip=trip),
        models.Forecast.objects.filter(session__trip=trip),
        models.Wish.objects.filter(place__trip=trip),
        models.Again.objects.filter(place__trip=trip),
        models.Absence.objects.filter(place__trip=trip),
        trip.gear_away.all(),
        _driven_cars(trip),
        _driven_runs(trip),
        models.RunStop.objects.filter(run__in=_driven_runs(trip)),
        *gear,
    ]


def turn_words(rota: Rota, session: Session, place: Place | None) -> str:
    """Where a person (None: the leader) is in a session of a rota: "Alder, left", "a rest" or "no turn"."""
    turn = rota.turns.filter(session=session, place=place).select_related("hide", "seat").first()
    if turn is not None:
        return f"{turn.hide.name}, {turn.seat.name}"
    return "a rest" if place is not None and rota.rests.filter(session=session, place=place).exists() else "no turn"


def turn_reasons(rota: Rota, session: Session, place: Place | None) -> tuple[list[str], list[str]]:
    """(why this turn, for everybody; what only leaders may read of it). Place None: the leader's turn."""
    turn = rota.turns.filter(session=session, place=place).first()
    if place is not None:
        why = rota.result.get("why", {}).get(f"{place.uuid}/{session.uuid}", [])
    else:
        why = [LEADER_WHY[rota.trip.rules.leader_policy]] if turn else []
    rules = [f"Rule: {reason}." for reason in turn.reasons] if turn else []
    return [*why, *rules], list(turn.leader_reasons) if turn else []


def turn_cell(rota: Rota, session: Session, place: Place | None) -> dict[str, Any]:
    """What the turn's cell shows of light; `seated`: whether there is a turn; `pinned`: whether later plans keep it;
    `company`: who sits in the same hide then."""
    turn = rota.turns.filter(session=session, place=place).select_related("hide").first()
    pinned = rota.trip.pins.filter(session=session, place=place).exists()
    if turn is None:
        return {"seated": False, "pinned": pinned, "hide": ""}
    cell = rota.cell_light.get(cell_key(str(session.uuid), str(turn.hide.uuid)), {})
    beside = rota.turns.filter(session=session, hide=turn.hide).exclude(pk=turn.pk).select_related("place__participant")
    company = [isolated(one.place.participant.name) if one.place else "the leader" for one in beside]
    return cell | {"seated": True, "pinned": pinned, "hide": str(turn.hide.uuid), "company": company}


def drop_asked(rota: Rota, session: Session, asked: dict[str, str]) -> dict[str, Any]:
    """What dropping a name asks for, as the change form's fields: a swap, a seat, or the best free one of a hide."""
    if asked.get("person"):
        other = rota.trip.places.filter(uuid=_uuid(asked["person"])).first()
        return {"kind": "swap", "other": other.pk if other else ""}
    if asked.get("seat"):
        seat = Seat.objects.filter(uuid=_uuid(asked["seat"]), hide__site=session.site).first()
        return {"kind": "move", "seat": seat.pk if seat else ""}
    taken = rota.turns.filter(session=session).values_list("seat_id", flat=True)
    seats = Seat.objects.filter(hide__uuid=_uuid(asked.get("hide", "")), hide__site=session.site)
    usable = seats.exclude(out_of_use_from__lt=session.ends_at)
    free = usable.exclude(pk__in=taken).order_by("-quality", "name").first() or usable.order_by("-quality").first()
    return {"kind": "move", "seat": free.pk if free else ""}


def _uuid(text: str) -> UUID:
    """A uuid as somebody's address gave it; what is none names nothing."""
    try:
        return UUID(text)
    except ValueError:
        return UUID(int=0)
