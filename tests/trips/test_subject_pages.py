"""Subjects, how they come to hides, and the table of seats - as the leader, a co-leader, a stranger, a participant."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from tests import factories
from tests.trips.issued_trips import phone_of
from trips.assemble.places import chance_value
from trips.forms.subject import MonthsField, months_shown
from trips.models import HideSubject, Seat, Subject, Wish

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    trip = factories.trip()
    factories.hide(site=trip.sites.get(), name="Alder")
    return trip


@pytest.fixture
def hide(trip):
    return trip.sites.get().hides.get()


@pytest.fixture
def as_leader(client, trip):
    client.force_login(trip.leader)
    return client


def subject_url(name, subject=None):
    return reverse(f"trips:{name}", kwargs={"subject_uuid": subject.uuid} if subject else {})


def chances_url(hide):
    return reverse("trips:hide-subjects", kwargs={"hide_uuid": hide.uuid})


def seats_url(trip):
    return reverse("trips:seat-table", kwargs={"trip_uuid": trip.uuid})


def subject_data(**changes):
    return {"name": "Hoopoe", "length_min_cm": "25", "length_max_cm": "29", "speed": "feeding"} | changes


def chances_data(hide, **changes):
    """The page of a hide's subjects as it stands."""
    rows = list(hide.hide_subjects.order_by("subject__name"))
    data = {"seen_version": str(hide.version), "chance-TOTAL_FORMS": len(rows), "chance-INITIAL_FORMS": len(rows)}
    for number, row in enumerate(rows):
        data[f"chance-{number}-id"] = row.pk
        data |= {f"chance-{number}-{kind}": getattr(row, kind) for kind in ("early", "midday", "late", "night")}
        data[f"chance-{number}-months"] = months_shown(row.months)
    return data | changes


def seats_data(*hides, **changes):
    """The table of seats as it stands, with its empty lines."""
    data = {}
    for hide in hides:
        seats, prefix = list(hide.seats.all()), f"hide{hide.pk}"
        data |= {f"{prefix}-TOTAL_FORMS": len(seats) + 1, f"{prefix}-INITIAL_FORMS": len(seats)}
        data[f"{prefix}-seen_version"] = hide.version
        for number, seat in enumerate(seats):
            line = f"{prefix}-{number}"
            data |= {f"{line}-id": seat.pk, f"{line}-name": seat.name, f"{line}-quality": seat.quality}
        data[f"{prefix}-{len(seats)}-quality"] = 3
    return data | changes


# --- months


@pytest.mark.parametrize(
    ("typed", "months"),
    [
        ("", []),
        ("4-6, 9", [4, 5, 6, 9]),
        ("Apr to Jun", [4, 5, 6]),
        ("nov–feb", [1, 2, 11, 12]),
        ("5", [5]),
        ("may, May", [5]),
        ("1-12", list(range(1, 13))),
    ],
)
def test_months_are_read_as_people_write_them(typed, months):
    assert MonthsField(required=False).clean(typed) == months


@pytest.mark.parametrize("typed", ["13", "0", "summer", "4-", "4--6", "²", "4;5"])
def test_what_is_no_month_is_refused(typed):
    with pytest.raises(ValidationError, match="is not a month"):
        MonthsField(required=False).clean(typed)


@pytest.mark.parametrize("months", [[], [5], [4, 5, 6, 9], [1, 2, 11, 12]])
def test_months_shown_are_read_back_the_same(months):
    assert MonthsField(required=False).clean(months_shown(months)) == months


# --- subjects


def test_a_leader_without_subjects_is_offered_to_begin(as_leader):
    page = as_leader.get(subject_url("subject-list")).content.decode()
    assert "No subject yet" in page
    assert subject_url("subject-new") in page


def test_a_subject_needs_a_name_and_a_length_only(as_leader, trip):
    assert as_leader.post(subject_url("subject-new"), subject_data(length_max_cm="")).status_code == 302
    subject = Subject.objects.get()
    assert (subject.leader, subject.length_min_cm, subject.length_max_cm) == (trip.leader, 25, 25)


def test_save_and_add_another_comes_back_to_an_empty_form(as_leader):
    answer = as_leader.post(subject_url("subject-new"), subject_data(step="more"))
    assert answer["Location"] == subject_url("subject-new")


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": ""}, "This field is required."),
        ({"length_min_cm": "2,5"}, "Type it with a point."),
        ({"length_min_cm": "0", "length_max_cm": "4"}, "above 0 cm"),
        ({"length_min_cm": "30", "length_max_cm": "20"}, "the smallest not more than the largest"),
        ({"standing_height_cm": "-3"}, "A standing height is above 0 cm."),
        ({"length_min_cm": "nan"}, "is not a number"),
        ({"speed": "teleport"}, "not one of the available choices"),
    ],
)
def test_a_bad_subject_is_kept_and_explained(as_leader, changes, sentence):
    answer = as_leader.post(subject_url("subject-new"), subject_data(**changes))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert sentence in page
    assert 'role="alert"' in page
    assert all(f'value="{text}"' in page for name, text in changes.items() if text and name != "speed")
    assert not Subject.objects.exists()


def test_a_name_is_used_once_a_leader(as_leader, trip):
    factories.subject(leader=trip.leader, name="Hoopoe")
    factories.subject(name="Roller")
    assert (
        "already have a subject of that name"
        in as_leader.post(subject_url("subject-new"), subject_data()).content.decode()
    )
    assert as_leader.post(subject_url("subject-new"), subject_data(name="Roller")).status_code == 302


def test_a_stale_subject_is_told_and_its_text_kept(as_leader, trip):
    subject = factories.subject(leader=trip.leader)
    page = as_leader.get(subject_url("subject-edit", subject)).content.decode()
    assert 'name="seen_version" value="1"' in page
    data = subject_data(seen_version="1")
    assert as_leader.post(subject_url("subject-edit", subject), data).status_code == 302
    page = as_leader.post(subject_url("subject-edit", subject), data | {"name": "Roller"}).content.decode()
    assert "changed since you opened it" in page
    assert 'value="Roller"' in page
    subject.refresh_from_db()
    assert subject.name == "Hoopoe"


def test_a_subject_with_marks_stays(as_leader, trip):
    subject = factories.subject(leader=trip.leader)
    Wish.objects.create(place=factories.place(trip=trip), subject=subject, marks=2)
    page = as_leader.post(subject_url("subject-remove", subject), follow=True).content.decode()
    assert "One person spent marks on" in page
    Wish.objects.all().delete()
    as_leader.post(subject_url("subject-remove", subject))
    assert not Subject.objects.exists()


def test_subject_list_costs_the_same_queries_with_many(as_leader, trip, hide, django_assert_max_num_queries):
    for _ in range(25):
        factories.hide_subject(hide=hide)
    with django_assert_max_num_queries(4):
        page = as_leader.get(subject_url("subject-list")).content.decode()
    assert page.count("1 hide<") == 25


# --- how they come to a hide


def test_chances_are_typed_and_counted(as_leader, hide):
    factories.hide_subject(hide=hide, subject=factories.subject(leader=hide.site.leader, name="Bee-eater"))
    factories.hide_subject(hide=hide, subject=factories.subject(leader=hide.site.leader, name="Owl"))
    data = chances_data(hide, **{"chance-0-early": "nearly_always", "chance-0-late": "", "chance-0-months": "apr-jul"})
    data |= {"chance-1-DELETE": "on"}
    assert as_leader.post(chances_url(hide), data).status_code == 302
    row = HideSubject.objects.get()
    assert (row.early, row.late, row.months) == ("nearly_always", "", [4, 5, 6, 7])
    chance = chance_value(row, month=5)
    assert (chance.early, chance.late) == (0.9, 0.9)
    assert chance_value(row, month=1).early == 0.1


def test_others_come_by_a_tick_and_a_new_one_by_its_name(as_leader, hide):
    known = factories.subject(leader=hide.site.leader, name="Owl")
    data = chances_data(hide, also=[known.pk], **{f"new-{key}": value for key, value in subject_data().items()})
    assert as_leader.post(chances_url(hide), data).status_code == 302
    assert sorted(row.subject.name for row in hide.hide_subjects.all()) == ["Hoopoe", "Owl"]
    assert Subject.objects.get(name="Hoopoe").leader == hide.site.leader


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"chance-0-months": "summer"}, "“summer” is not a month"),
        ({"chance-0-early": "always"}, "not one of the available choices"),
        ({"new-name": "Roller"}, "This field is required."),
        ({"also": "999999"}, "not one of the available choices"),
        ({"chance-TOTAL_FORMS": "x"}, "ManagementForm data is missing"),
    ],
)
def test_bad_chances_are_kept_and_explained(as_leader, hide, changes, sentence):
    factories.hide_subject(hide=hide)
    answer = as_leader.post(chances_url(hide), chances_data(hide) | changes)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert sentence in page
    assert 'role="alert"' in page
    assert hide.hide_subjects.get().early == "often"


def test_somebody_elses_subject_is_not_offered(as_leader, hide):
    stranger = factories.subject(name="Somebody else's owl")
    assert "Somebody else" not in as_leader.get(chances_url(hide)).content.decode()
    as_leader.post(chances_url(hide), chances_data(hide, also=[stranger.pk]))
    assert not hide.hide_subjects.exists()


def test_stale_chances_are_told_and_kept(as_leader, hide):
    factories.hide_subject(hide=hide)
    data = chances_data(hide)
    assert as_leader.post(chances_url(hide), data).status_code == 302
    page = as_leader.post(chances_url(hide), data | {"chance-0-months": "5"}).content.decode()
    assert "changed since you opened it" in page
    assert 'value="5"' in page
    assert hide.hide_subjects.get().months == []


def test_hide_subjects_costs_the_same_queries_with_many(as_leader, hide, django_assert_max_num_queries):
    for _ in range(15):
        factories.hide_subject(hide=hide)
        factories.subject(leader=hide.site.leader)
    with django_assert_max_num_queries(14):
        page = as_leader.get(chances_url(hide)).content.decode()
    assert page.count("-months") >= 15


# --- seats


def test_seats_of_all_hides_are_changed_at_once(as_leader, trip, hide):
    other = factories.hide(site=trip.sites.get(), name="Broom", seats=1)
    one, two = f"hide{hide.pk}", f"hide{other.pk}"
    changes = {f"{one}-0-name": "window side", f"{one}-1-quality": "5", f"{one}-1-defects": "low stool"}
    changes |= {f"{two}-1-name": "right", f"{two}-0-out_of_use_from_day": "2027-05-09"}
    changes |= {f"{two}-0-out_of_use_from_clock": "14:00"}
    assert as_leader.post(seats_url(trip), seats_data(hide, other, **changes)).status_code == 302
    assert sorted(seat.name for seat in hide.seats.all()) == ["right", "window side"]
    assert hide.seats.get(name="right").defects == "low stool"
    assert sorted(seat.name for seat in other.seats.all()) == ["left", "right"]
    assert f"{other.seats.get(name='left').out_of_use_from:%d %H:%M}" == "09 12:00"


def test_lines_that_nobody_touched_are_left_alone(as_leader, trip, hide):
    bare = factories.hide(site=trip.sites.get(), name="Broom", seats=0)
    data = seats_data(hide, bare, **{f"hide{hide.pk}-0-name": "window side"})
    assert as_leader.post(seats_url(trip), data).status_code == 302
    bare.refresh_from_db()
    hide.refresh_from_db()
    assert (bare.version, hide.version) == (1, 2)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"0-name": ""}, "This field is required."),
        ({"0-name": "right", "1-name": "right"}, "right"),
        ({"0-quality": "9"}, "not one of the available choices"),
        ({"0-out_of_use_from_day": "2027-05-09"}, "Give both the day and the time."),
        ({"0-out_of_use_from_day": "2027-03-28", "0-out_of_use_from_clock": "02:30"}, "clocks go from 02:00 to 03:00"),
        ({"0-DELETE": "on", "1-DELETE": "on"}, "Give at least one."),
    ],
)
def test_bad_seats_are_kept_and_explained(as_leader, trip, hide, changes, sentence):
    changes = {f"hide{hide.pk}-{key}": value for key, value in changes.items()}
    answer = as_leader.post(seats_url(trip), seats_data(hide, **changes))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert sentence in page
    assert 'role="alert"' in page
    assert sorted(seat.name for seat in hide.seats.all()) == ["left", "right"]


def test_one_stale_hide_keeps_all_from_being_saved(as_leader, trip, hide):
    other = factories.hide(site=trip.sites.get(), name="Broom")
    data = seats_data(hide, other, **{f"hide{hide.pk}-0-name": "first", f"hide{other.pk}-0-name": "second"})
    type(other).objects.filter(pk=other.pk).update(version=7)
    page = as_leader.post(seats_url(trip), data).content.decode()
    assert "changed since you opened it" in page
    assert 'value="first"' in page
    assert not Seat.objects.filter(name__in=("first", "second")).exists()


def test_a_seat_with_turns_is_named_and_stays(as_leader, trip, hide):
    seat = hide.seats.get(name="left")
    factories.turn(rota=factories.rota(trip=trip), hide=hide, seat=seat)
    page = as_leader.post(seats_url(trip), seats_data(hide, **{f"hide{hide.pk}-0-DELETE": "on"})).content.decode()
    assert "Turns of a rota sit in “left”" in page
    assert hide.seats.count() == 2


def test_the_seat_table_costs_the_same_queries_with_many_hides(as_leader, trip, django_assert_max_num_queries):
    for _ in range(10):
        factories.hide(site=trip.sites.get(), seats=4)
    with django_assert_max_num_queries(8):
        page = as_leader.get(seats_url(trip)).content.decode()
    assert page.count('aria-label="Quality, ') == 10 * 5 + 3


# --- who may


def test_a_co_leader_may_and_a_stranger_and_a_participant_may_not(client, trip, hide):
    subject = factories.hide_subject(hide=hide).subject
    person = factories.place(trip=trip).participant
    addresses = [chances_url(hide), seats_url(trip), subject_url("subject-edit", subject)]
    for address in addresses:
        assert reverse("sign-in") in phone_of(person).get(address)["Location"]
    other = factories.leader()
    client.force_login(other)
    assert [client.get(address).status_code for address in addresses] == [404] * 3
    assert [client.post(address, {}).status_code for address in addresses] == [404] * 3
    trip.co_leaders.add(other)
    assert [client.get(address).status_code for address in addresses] == [200] * 3
