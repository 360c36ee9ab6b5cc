"""Every constraint of every row refuses what it should, with its readable message: in forms and in the database."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction

from participants.models import AccessLink
from tests import factories
from tests.frozen_clock import MOMENT
from tests.trips.full_trip import full_trip
from tests.trips.made_once import made_once
from trips.models import Car, DriverList, PaperPack, Place, Rota, Session, SitePlanner, Turn
from trips.services.trip_file.problems import constraint_sentence

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)

# What breaks a check: the values to set on a good row of the model.
CHECKS: dict[str, list[dict[str, Any]]] = {
    "participant_has_a_name": [{"name": ""}],
    "participant_cabin_bag_above_zero": [{"cabin_bag_kg": 0}, {"cabin_bag_kg": -3}],
    "body_sensor_size": [{"sensor_width_mm": 0}, {"sensor_height_mm": -1}, {"sensor_width_mm": 121}],
    "body_pixels": [{"pixels_wide": 0}, {"pixels_high": 0}],
    "lens_focal_range": [{"focal_min_mm": 0}, {"focal_min_mm": 601}],
    "lens_aperture": [{"aperture_wide": 0}, {"aperture_long": -4}],
    "lens_near_limit": [{"near_limit_m": 0}],
    "lens_magnification": [{"max_magnification": 0}],
    "converter_factor": [{"factor": 1}, {"factor": 4.1}],
    "tube_length": [{"length_mm": 0}, {"length_mm": 301}],
    "battery_values": [{"volts": 0}, {"ampere_hours": 0}, {"count": 0}],
    "access_link_ends_later": [{"expires_at": MOMENT - timedelta(days=9999)}],
    "site_on_earth": [{"latitude_deg": 90.1}, {"latitude_deg": -91}, {"longitude_deg": 180.1}, {"longitude_deg": -181}],
    "site_meeting_point_on_earth": [{"meeting_latitude_deg": 91}, {"meeting_longitude_deg": -181}],
    "site_elevation": [{"elevation_m": -501}, {"elevation_m": 9001}],
    "hide_on_earth": [{"latitude_deg": 91, "longitude_deg": 0}, {"latitude_deg": 0, "longitude_deg": 181}],
    "hide_position_whole": [{"latitude_deg": 39.5}, {"longitude_deg": -6.2}],
    "hide_lengths": [
        *({name: -0.1} for name in ("roof_height_m", "seat_height_m", "walk_m", "walk_min", "drive_min")),
        {"width_m": 0},
    ],
    "hide_excess": [{"excess_c": -21}, {"excess_c": 41}],
    "hide_minimum_people": [{"minimum_people": 0}],
    "hide_in_place": [{"in_place_min_before_sunrise": -1}],
    "view_bearing": [{"bearing_deg": 360}, {"bearing_deg": -0.1}],
    "view_distances": [{"near_m": 0}, {"near_m": 6.1}],
    "view_water_edge": [{"water_edge_m": 0}],
    "view_perch_height": [{"perch_height_m": -11}, {"perch_height_m": 101}],
    "view_stops": [{"glass_loss_stops": -1}, {"glass_loss_stops": 11}, {"light_offset_stops": 11}],
    "seat_quality": [{"quality": 0}, {"quality": 6}],
    "subject_length": [{"length_min_cm": 0}, {"length_min_cm": 19}],
    "subject_standing_height": [{"standing_height_cm": 0}],
    "trip_ends_after_start": [{"ends_on": factories.STARTS_ON - timedelta(days=1)}],
    "rules_limits": [{"open_hides_at_once": 0}, {"visits_at_most": 0}, {"consecutive_turns_at_most": 0}],
    "rules_dials": [{"tolerance": -0.01}, {"tolerance": 0.21}, {"light_dial": 1.1}, {"light_dial": -0.1}],
    "rules_times": [
        *({"later_untold_min": -1}, {"hardship_walk_m": -1}, {"hand_over_min": 0}, {"ev_span": 0}, {"shutter_s": 0}),
    ],
    "rules_overdue": [{"overdue_min": -1}, {"overdue_mail_min": 14}],
    "rules_light_limits": [{"front_deg": -1}, {"front_deg": 121}, {"side_deg": 181}],
    "rules_fill_bands": [{"crop_below": 0}, {"crop_below": 0.8}, {"portrait_above": 0.6}],
    "rules_heat_limit": [{"heat_limit_c": -21}, {"heat_limit_c": 61}],
    "car_seats": [{"seats": 0}],
    "car_one_driver": [{"driver": "the warden"}],  # the good row has a leader
    "run_number": [{"number": 0}],
    "run_one_driver": [{"driver": "the warden"}],
    "session_ends_after_start": [{"ends_at": factories.FIRST_START}, {"ends_at": factories.FIRST_START - HOUR}],
    "session_wind_and_heat": [{"wind_from_deg": -1}, {"wind_from_deg": 361}, {"heat_limit_c": 61}],
    "run_stop_leg": [{"leg_min": -1}],
    "forecast_values": [{"air_c": -61}, {"air_c": 61}, {"humidity_pct": -1}, {"humidity_pct": 101}],
    "session_hide_ends_after_start": [{"starts_at": factories.FIRST_START, "ends_at": factories.FIRST_START}],
    "session_hide_notice": [{"notice_h": -1}],
    "place_leaves_after_arrival": [{"arrives_at": factories.FIRST_START, "leaves_at": factories.FIRST_START}],
    "gear_away_one_piece": [{"tube": None}],
    "gear_away_ends_after_start": [{"until_at": MOMENT - timedelta(days=9999)}],
    "gear_away_shared_with_somebody": [{"borrower": None, "shared": True}],
    "place_limits": [{"walk_limit_m": -1}, {"hours_limit": -1}],
    "wish_votes": [{"votes": 0}, {"votes": 7}],
    "rota_number": [{"number": 0}],
    "session_log_yield": [{"yield_rating": 6}],
    "happening_of_a_person": [{"session": None}, {"place": None, "leader": None}],
    "happening_at_a_hide": [{"kind": "moved", "hide": None}, {"kind": "hide_closed", "hide": None}],
}


def _same(**changes: Any) -> Callable[[models.Model], dict[str, Any]]:
    """The second row is like the first but for these values."""
    return lambda row: changes


def _other_place(row: Any) -> dict[str, Any]:
    trip = row.rota.trip if hasattr(row, "rota") else row.session.trip
    taken = list(Turn.objects.filter(place__isnull=False).values_list("place", flat=True))
    return {"place": Place.objects.filter(trip=trip).exclude(pk__in=taken).last(), "leader": None}


def _other_seat(row: Turn) -> dict[str, Any]:
    return {"seat": factories.seat(hide=row.hide)}


# What a second row needs so that it breaks this one constraint: values that differ from the first row's.
UNIQUE: dict[str, Callable[[Any], dict[str, Any]]] = {
    "access_link_once": _same(),
    "hide_name_once_a_site": _same(),
    "view_name_once_a_hide": _same(),
    "seat_name_once_a_hide": _same(),
    "subject_name_once_a_leader": _same(),
    "hide_subject_once": _same(),
    "car_name_once_a_trip": _same(),
    "session_start_once": _same(),
    "run_once": _same(),
    "run_stop_position_once": lambda row: {"hide": factories.hide(site=row.hide.site)},
    "run_stop_hide_once": _same(position=9),
    "forecast_hour_once": _same(),
    "session_hide_once": _same(),
    "place_once": _same(),
    "wish_once": _same(),
    "again_once": _same(),
    "pairing_once": lambda row: {"first": row.second, "second": row.first},
    "absence_once": _same(),
    "site_planner_once": _same(),
    "pin_person_once": _same(seat=None),
    "pin_leader_once": _same(place=None, seat=None),
    "pin_seat_once": lambda row: {"place": Place.objects.exclude(pk=row.place_id).first()},
    "rota_number_once_a_trip": _same(state="draft"),
    "rota_issued_once_a_trip": _same(number=99, state="issued"),
    "turn_seat_once": _other_place,
    "turn_whole_excludes_parts": lambda row: _other_place(row) | {"part": 1},
    "turn_person_once": _other_seat,
    "turn_leader_once": _other_seat,
    "rest_once": _same(),
    "making_active_once_a_trip": _same(state="waiting"),
    "meal_name_once_a_day": _same(),
    **dict.fromkeys(("notice_once", "notice_leader_once", "notice_overdue_once"), _same()),
    **dict.fromkeys(("notice_day_once", "notice_day_leader_once"), _same()),
    "driver_list_once": _same(),
    "incident_number_once_a_trip": _same(),
    "arrival_once": _same(),
    "paper_pack_active_once_a_trip": _same(),
}
# Checks between two references; the values come from the row itself.
REFERENCES: dict[str, list[Callable[[Any], dict[str, Any]]]] = {
    "pairing_of_two": [lambda row: {"second": row.first}],
    "turn_person_or_leader": [
        lambda row: {"place": None, "leader": None},
        lambda row: {"leader": row.rota.trip.leader, "place": Place.objects.first()},
    ],
    "notice_person_or_leader": [
        lambda row: {"place": None, "leader": None},
        lambda row: {"leader": row.issue.rota.trip.leader, "place": Place.objects.first()},
    ],
    "notice_overdue_leader": [lambda row: {"session": row.issue.rota.trip.sessions.first()}],
    "happening_person_or_leader": [lambda row: {"leader": row.trip.leader, "place": Place.objects.first()}],
}


def every_constraint() -> dict[str, tuple[type[models.Model], models.BaseConstraint]]:
    """All constraints of the house by name."""
    kinds = [kind for label in ("participants", "trips") for kind in apps.get_app_config(label).get_models()]
    return {str(found.name): (kind, found) for kind in kinds for found in kind._meta.constraints}


CONSTRAINTS = every_constraint()


def good_row(name: str) -> Any:
    """A row that keeps all rules and that the constraint looks at."""
    kind = CONSTRAINTS[name][0]
    rows = kind._default_manager.order_by("pk")
    if name == "rota_issued_once_a_trip":
        rows = rows.filter(state="issued")
    if name == "making_active_once_a_trip":
        rows.update(state="running")
    if name in ("turn_leader_once", "notice_leader_once", "notice_overdue_once", "notice_day_leader_once"):
        rows = rows.filter(CONSTRAINTS[name][1].condition or models.Q(), leader__isnull=False)
    if name == "notice_day_once":
        rows = rows.filter(place__isnull=False, happening__isnull=False)
    if name == "pin_leader_once":
        rows.update(place=None)
    row = rows.first()
    assert row is not None, name
    return row


def make_everything() -> None:
    """A row in every table that has constraints."""
    trip = full_trip()
    SitePlanner.objects.create(site=trip.sites.first(), leader=factories.leader())
    PaperPack.objects.create(trip=trip, rota=trip.rotas.get(state="issued"), asked_at=MOMENT)
    DriverList.objects.create(trip=trip, day=trip.starts_on, driver="name-benigno")
    AccessLink.objects.create(owner_uuid=trip.uuid, kind="feed_trip", made_at=MOMENT - timedelta(days=1))


everything = made_once(make_everything)


def message_of(name: str) -> str:
    return str(CONSTRAINTS[name][1].get_violation_error_message())


def assert_refused(name: str, row: Any) -> None:
    """Forms refuse the row with the message, and so does the database, which names the same constraint."""
    with pytest.raises(ValidationError) as refusal:
        row.validate_constraints()
    assert message_of(name) in refusal.value.messages
    with pytest.raises(IntegrityError) as broken, transaction.atomic():
        row.save_base(raw=True, force_insert=row.pk is None, force_update=row.pk is not None)
    assert constraint_sentence(broken.value, type(row)) == message_of(name)


def test_every_constraint_has_its_breach_here():
    assert set(CONSTRAINTS) == set(CHECKS) | set(UNIQUE) | set(REFERENCES)


def test_every_message_is_a_sentence_of_its_own():
    general = models.CheckConstraint(condition=models.Q(), name="any").violation_error_message
    for name in CONSTRAINTS:
        message = message_of(name)
        assert message != general, name
        assert message[0].isupper(), name
        assert message.endswith("."), name


@pytest.mark.usefixtures("everything")
def test_the_good_rows_keep_every_rule():
    for name, (kind, _) in CONSTRAINTS.items():
        for row in kind._default_manager.all():
            row.validate_constraints()
            assert name


@pytest.mark.usefixtures("everything")
@pytest.mark.parametrize(
    ("name", "values"), [(name, values) for name, breaches in CHECKS.items() for values in breaches]
)
def test_a_check_refuses(name, values):
    row = good_row(name)
    for field, value in values.items():
        setattr(row, field, value)
    assert_refused(name, row)


@pytest.mark.usefixtures("everything")
@pytest.mark.parametrize(
    ("name", "breach"), [(name, breach) for name, breaches in REFERENCES.items() for breach in breaches]
)
def test_a_check_between_references_refuses(name, breach):
    row = good_row(name)
    for field, value in breach(row).items():
        setattr(row, field, value)
    assert_refused(name, row)


@pytest.mark.usefixtures("everything")
@pytest.mark.parametrize("name", UNIQUE)
def test_a_second_row_of_the_kind_is_refused(name):
    row = good_row(name)
    changes = UNIQUE[name](row)
    row.pk, row.uuid = None, uuid4()
    row._state.adding = True
    for field, value in changes.items():
        setattr(row, field, value)
    assert_refused(name, row)


@pytest.mark.usefixtures("everything")
def test_a_session_may_cross_midnight_and_a_hide_may_look_north():
    session = Session.objects.first()
    assert session is not None
    session.ends_at = session.starts_at + timedelta(hours=20)
    session.validate_constraints()
    session.save()
    factories.view(bearing_deg=0, near_m=5, far_m=5)


@pytest.mark.usefixtures("everything")
def test_two_halves_of_a_seat_stand_beside_each_other_but_not_beside_a_whole_turn():
    turn = Turn.objects.filter(place__isnull=False).first()
    assert turn is not None
    turn.part = 1
    turn.save()
    second = factories.place(trip=turn.rota.trip)
    half = {"rota": turn.rota, "session": turn.session, "hide": turn.hide, "seat": turn.seat, "place": second}
    Turn.objects.create(**half, part=2)
    third = factories.place(trip=turn.rota.trip)
    with pytest.raises(IntegrityError), transaction.atomic():
        Turn.objects.create(**half | {"place": third}, part=0)


@pytest.mark.usefixtures("everything")
def test_other_trips_have_their_own_numbers_and_names():
    other = factories.trip()
    Rota.objects.create(trip=other, number=1, state="issued", made_at=MOMENT)
    Car.objects.create(trip=other, name="van")
