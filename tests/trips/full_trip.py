"""A trip with a row in every table."""

from datetime import timedelta

from participants import models as people
from tests import factories
from tests.factories import FIRST_START
from trips import models
from trips.documents.ical import hide_session_uid, person_session_uid


def full_trip() -> models.Trip:
    """A planned, issued and logged trip; every kind of row that a trip file carries is there at least once."""
    trip = factories.planned_trip()
    trip.co_leaders.add(factories.leader())
    trip.subjects.set(models.Subject.objects.filter(hide_subjects__hide__site__trips=trip))
    places = list(trip.places.all())
    _gear(places[0].participant)
    models.GearAway.objects.create(
        trip=trip, tube=places[0].participant.tubes.get(), borrower=places[1], from_at=FIRST_START, shared=True
    )
    _wishes(trip, places)
    _drives(trip)
    rota = _rota(trip, places)
    _issued(trip, rota, places)
    _logged(trip, places)
    return trip


def _gear(person: people.Participant) -> None:
    people.HealthNote.objects.create(participant=person, text="penicillin: never")
    people.Converter.objects.create(participant=person, name="1.4 x", factor=1.4)
    people.Tube.objects.create(participant=person, name="25 mm", length_mm=25)
    people.Battery.objects.create(participant=person, name="spare", volts=7.2, ampere_hours=2.1, count=2)
    people.Support.objects.create(participant=person, name="tripod", kind="tripod")


def _wishes(trip: models.Trip, places: list[models.Place]) -> None:
    hide, session = trip.sites.get().hides.first(), trip.sessions.first()
    models.Wish.objects.create(place=places[0], subject=trip.subjects.first(), votes=4)
    models.Again.objects.create(place=places[0], hide=hide)
    models.Pairing.objects.create(trip=trip, first=places[0], second=places[1], kind="apart")
    models.Absence.objects.create(place=places[2], session=session, reason="late flight")
    models.Pin.objects.create(trip=trip, session=session, place=places[0], hide=hide, seat=hide.seats.first())
    places[1].helps = places[0]
    places[1].save()


def _drives(trip: models.Trip) -> None:
    session, hide = trip.sessions.first(), trip.sites.get().hides.first()
    factories.meal(trip=trip, name="Breakfast", note="packed, in the car")
    car = models.Car.objects.create(trip=trip, name="van", plate="DEMO 1", seats=6, driver_leader=trip.leader)
    run = models.Run.objects.create(session=session, car=car, driver_place=trip.places.first())
    models.Run.objects.create(session=session, car=car, number=2, driver="the warden")
    models.RunStop.objects.create(run=run, hide=hide, position=1, leg_min=4.5)
    models.Forecast.objects.create(session=session, hour=session.starts_at, air_c=21.5, humidity_pct=40)
    models.SessionHide.objects.create(session=session, hide=hide, state="notice", notice_h=24, reason="licence")


def _rota(trip: models.Trip, places: list[models.Place]) -> models.Rota:
    first = factories.rota(trip=trip, state="retired", made_by=trip.leader)
    rota = factories.rota(trip=trip, state="issued", follows=first, repair="fewest", result={"worst": 0.79})
    session, hide = trip.sessions.first(), trip.sites.get().hides.first()
    left, right = hide.seats.all()[:2]
    factories.turn(rota=rota, session=session, hide=hide, seat=left, place=places[0], points=61.25, pinned=True)
    factories.turn(rota=rota, session=session, hide=hide, seat=right, leader=trip.leader)
    models.Rest.objects.create(rota=rota, session=session, place=places[1], reason="fair turn")
    models.Change.objects.create(
        rota=rota,
        who=trip.leader,
        when=FIRST_START - timedelta(days=2),
        why="late flight",
        old=[{"place": str(places[0].uuid), "seat": str(left.uuid)}],
        new=[],
    )
    models.Making.objects.create(
        trip=trip,
        state="finished",
        started_at=FIRST_START - timedelta(days=3),
        from_session=session,
        rota=rota,
        towards=rota,
    )
    return rota


def _issued(trip: models.Trip, rota: models.Rota, places: list[models.Place]) -> None:
    session, hide = trip.sessions.first(), trip.sites.get().hides.first()
    events = [
        {"uid": person_session_uid(trip.uuid, places[0].uuid, session.uuid), "summary": "Alder, left"},
        {"uid": hide_session_uid(trip.uuid, hide.uuid, session.uuid), "summary": "Alder"},
    ]
    issue = models.Issue.objects.create(
        rota=rota,
        issued_at=FIRST_START - timedelta(days=1),
        by=trip.leader,
        pages={str(place.uuid): {"turns": []} for place in places},
        events={"anyone": events},
    )
    models.Notice.objects.create(issue=issue, place=places[0], summary={"new": [str(session.uuid)]})
    models.Notice.objects.create(issue=issue, leader=trip.leader, summary={"first": True})
    alarm = {"session": session, "hide": hide, "summary": {"overdue": ["Ana"]}}
    models.Notice.objects.create(issue=issue, leader=trip.leader, **alarm)


def _logged(trip: models.Trip, places: list[models.Place]) -> None:
    session, hide = trip.sessions.first(), trip.sites.get().hides.first()
    log = models.SessionLog.objects.create(
        session=session, hide=hide, place=places[0], by=trip.leader, written_at=session.ends_at, yield_rating=4
    )
    models.Arrival.objects.create(log=log, subject=trip.subjects.first(), count=3)
    noted = {"trip": trip, "session": session, "hide": hide, "at": session.starts_at}
    out = models.Happening.objects.create(kind="out", place=places[0], **noted)
    models.Happening.objects.create(kind="out", place=places[0], undoes=out, by=trip.leader, **noted)
    models.Happening.objects.create(kind="out", leader=trip.leader, by=trip.leader, **noted)
    moved = models.Happening.objects.create(kind="moved", place=places[0], **noted)
    told = {"issue": models.Issue.objects.get(rota__trip=trip), "session": session, "happening": moved}
    models.Notice.objects.create(place=places[1], **told)
    models.Notice.objects.create(leader=trip.leader, **told)
    said = {"kind": "late", "session": session, "until_at": session.ends_at, "text": "Flat tyre"}
    models.Message.objects.create(place=places[0], sent_at=session.starts_at, answered_by=trip.leader, **said)
    paper = {"happened": "A fall on the steps."}
    record = {"number": 1, "session": session, "made_at": session.ends_at, "by": trip.leader, "paper": paper}
    models.IncidentRecord.objects.create(trip=trip, **record)
