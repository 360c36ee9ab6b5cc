"""Valid rows without arguments; a test says only what matters to it. All people and places are invented."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import count
from typing import Any

from django.contrib.auth import get_user_model

from participants import models as people
from trips import models

_numbers = count(1)
STARTS_ON = date(2027, 5, 8)
FIRST_START = datetime(2027, 5, 8, 4, 45, tzinfo=UTC)  # 06:45 in Europe/Madrid


def number() -> int:
    """The next number, for names that must differ."""
    return next(_numbers)


def leader(**fields: Any) -> Any:
    """A leader who can sign in with the password "quiet-soles-27"."""
    username = fields.pop("username", f"leader{number()}")
    user = get_user_model()(username=username, **fields)
    user.set_password("quiet-soles-27")
    user.save()
    people.LeaderDetails.objects.create(leader=user, phone="+34 600 000 027")
    return user


def site(**fields: Any) -> models.Site:
    """A site near 39.5 N, 6.2 W."""
    fields.setdefault("leader", None)
    fields["leader"] = fields["leader"] or leader()
    defaults = {
        "name": f"Estate {number()}",
        "latitude_deg": 39.5,
        "longitude_deg": -6.2,
        "elevation_m": 0,
        "time_zone": "Europe/Madrid",
        "meeting_point": "the lodge gate",
    }
    return models.Site.objects.create(**defaults | fields)


def hide(*, seats: int = 2, views: int = 1, **fields: Any) -> models.Hide:
    """A hide with seats "left", "right" ... and views looking west (and onwards)."""
    fields["site"] = fields.get("site") or site()
    defaults = {"name": f"Hide {number()}", "drive_min": 10, "walk_m": 40, "walk_min": 2}
    row = models.Hide.objects.create(**defaults | fields)
    for place in range(seats):
        seat(hide=row, name=["left", "right", "middle"][place] if place < 3 else f"seat {place + 1}")
    for place in range(views):
        view(hide=row, name=f"view {place + 1}", bearing_deg=(250 + 90 * place) % 360)
    return row


def view(**fields: Any) -> models.View:
    """A view over water, 4.5 to 6 m."""
    fields["hide"] = fields.get("hide") or hide(views=0)
    defaults = {"name": f"view {number()}", "bearing_deg": 250, "near_m": 6.0, "far_m": 6.0, "water_edge_m": 4.5}
    return models.View.objects.create(**defaults | fields)


def seat(**fields: Any) -> models.Seat:
    """A seat."""
    fields["hide"] = fields.get("hide") or hide(seats=0)
    return models.Seat.objects.create(**{"name": f"seat {number()}"} | fields)


def subject(**fields: Any) -> models.Subject:
    """A small bird."""
    fields["leader"] = fields.get("leader") or leader()
    return models.Subject.objects.create(
        **{"name": f"Sparrow {number()}", "length_min_cm": 14, "length_max_cm": 18} | fields
    )


def hide_subject(**fields: Any) -> models.HideSubject:
    """A subject that often comes to a hide."""
    fields["hide"] = fields.get("hide") or hide()
    fields["subject"] = fields.get("subject") or subject(leader=fields["hide"].site.leader)
    return models.HideSubject.objects.create(**{"early": "often", "late": "often"} | fields)


def trip(*, sites: list[models.Site] | None = None, **fields: Any) -> models.Trip:
    """A trip of five days with rules and one site."""
    fields["leader"] = fields.get("leader") or (sites[0].leader if sites else leader())
    defaults = {"name": f"Trip {number()}", "starts_on": STARTS_ON, "ends_on": STARTS_ON + timedelta(days=4)}
    row = models.Trip.objects.create(**defaults | fields)
    row.sites.set(sites if sites is not None else [site(leader=row.leader)])
    models.TripRules.objects.create(trip=row)
    return row


def session(*, index: int | None = None, **fields: Any) -> models.Session:
    """A session of four hours; even `index` early, odd late, two a day; without an index the next one."""
    fields["trip"] = fields.get("trip") or trip()
    index = fields["trip"].sessions.count() if index is None else index
    fields["site"] = fields.get("site") or fields["trip"].sites.get()
    start = FIRST_START + timedelta(days=index // 2, hours=10.75 if index % 2 else 0)
    defaults = {"starts_at": start, "ends_at": start + timedelta(hours=4), "kind": "late" if index % 2 else "early"}
    return models.Session.objects.create(**defaults | fields)


def meal(**fields: Any) -> models.Meal:
    """A meal at half past eight on the trip's first day."""
    fields["trip"] = fields.get("trip") or trip()
    defaults = {
        "day": fields["trip"].starts_on,
        "at": time(8, 30),
        "name": f"Meal {number()}",
        "place": "lodge kitchen",
    }
    return models.Meal.objects.create(**defaults | fields)


def participant(**fields: Any) -> people.Participant:
    """A person of a leader."""
    fields["leader"] = fields.get("leader") or leader()
    return people.Participant.objects.create(**{"name": f"Person {number()}"} | fields)


def place(**fields: Any) -> models.Place:
    """A confirmed place on a trip."""
    fields["trip"] = fields.get("trip") or trip()
    fields["participant"] = fields.get("participant") or participant(leader=fields["trip"].leader)
    return models.Place.objects.create(**{"state": "confirmed"} | fields)


def body(**fields: Any) -> people.Body:
    """A 36 x 24 mm body with 45 million pixels."""
    fields["participant"] = fields.get("participant") or participant()
    defaults = {
        "name": "45 MP full frame",
        "sensor_width_mm": 36,
        "sensor_height_mm": 24,
        "pixels_wide": 8256,
        "pixels_high": 5504,
        "frames_per_s": 20,
        "top_iso": 6400,
    }
    return people.Body.objects.create(**defaults | fields)


def lens(**fields: Any) -> people.Lens:
    """A 600 mm f/4 that focuses to 4.2 m."""
    fields["participant"] = fields.get("participant") or participant()
    defaults = {
        "name": "600 mm f/4",
        "focal_min_mm": 600,
        "focal_max_mm": 600,
        "aperture_wide": 4,
        "aperture_long": 4,
        "near_limit_m": 4.2,
    }
    return people.Lens.objects.create(**defaults | fields)


def rota(**fields: Any) -> models.Rota:
    """An empty draft."""
    fields["trip"] = fields.get("trip") or trip()
    defaults = {"number": fields["trip"].rotas.count() + 1, "made_at": FIRST_START - timedelta(days=30)}
    return models.Rota.objects.create(**defaults | fields)


def turn(**fields: Any) -> models.Turn:
    """A turn of a person in the first seat of a hide."""
    fields["rota"] = fields.get("rota") or rota()
    trip_row = fields["rota"].trip
    fields["session"] = fields.get("session") or session(trip=trip_row)
    if "leader" not in fields:
        fields["place"] = fields.get("place") or place(trip=trip_row)
    fields["hide"] = fields.get("hide") or hide(site=fields["session"].site)
    fields["seat"] = fields.get("seat") or fields["hide"].seats.first()
    return models.Turn.objects.create(**fields)


def planned_trip(*, people_count: int = 3, hides: int = 2, sessions: int = 2) -> models.Trip:
    """A trip with confirmed people who have gear, hides with a subject each, and sessions, but no rota."""
    row = trip()
    where = row.sites.get()
    for _ in range(hides):
        hide_subject(hide=hide(site=where, seats=2))
    for index in range(sessions):
        session(trip=row, index=index)
    for _ in range(people_count):
        person = place(trip=row).participant
        body(participant=person)
        lens(participant=person)
    return row
