"""A person's kit pages as the person, as their leader, as another participant, as a stranger and as nobody."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from participants.models import Body, Lens, Submission
from participants.services import device_add
from tests import factories
from tests.core.pictures import FULL_FRAME, RATIO, jpeg, png

pytestmark = pytest.mark.django_db

LENS = {
    "focal_min_mm": "600",
    "aperture_wide": "4",
    "near_limit_m": "5.2",
    "near_limit_m_unit": "m",
    "takes_converter": "on",
}
BODY = {"sensor": "36x24", "pixels_wide": "8256", "pixels_high": "5504"}


def signed_in(person):
    """A browser in which a participant is signed in."""
    browser = Client()
    browser.session.save()
    session = browser.session
    session["participant"] = str(person.uuid)
    session.save()
    device_add(person=person, session_key=session.session_key, name="test")
    return browser


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=1, hides=1)


@pytest.fixture
def place(trip):
    return trip.places.get()


@pytest.fixture
def person(place):
    return place.participant


@pytest.fixture
def browser(person):
    return signed_in(person)


def url(name, person, **more):
    return reverse(f"trips:{name}", kwargs={"person_uuid": person.uuid, **more})


def text(answer):
    return answer.content.decode()


def pages(person):
    piece = {"kind": "lens", "piece_uuid": person.lenses.get().uuid}
    return [
        url("kit-show", person),
        url("kit-picture", person),
        url("packing-show", person),
        url("piece-new", person, kind="lens"),
        url("piece-edit", person, **piece),
        url("piece-remove", person, **piece),
    ]


def test_kit_pages_open_for_the_person_and_their_leader_only(browser, trip, person):
    as_leader, stranger = Client(), Client()
    as_leader.force_login(trip.leader)
    stranger.force_login(factories.leader())
    other = signed_in(factories.participant(leader=trip.leader))
    for page in pages(person):
        assert browser.get(page).status_code == 200
        assert as_leader.get(page).status_code == 200
        assert stranger.get(page).status_code == 404
        assert other.get(page).status_code == 404
        assert Client().get(page).status_code == 302


def test_pieces_of_somebody_else_are_404_even_under_ones_own_address(browser, person):
    foreign = factories.lens()
    for name in ("piece-edit", "piece-remove"):
        assert browser.get(url(name, person, kind="lens", piece_uuid=foreign.uuid)).status_code == 404
        assert browser.post(url(name, person, kind="lens", piece_uuid=foreign.uuid), LENS).status_code == 404
    assert browser.get(url("piece-new", person, kind="balloon")).status_code == 404
    assert browser.get(url("piece-edit", person, kind="lens", piece_uuid=uuid.uuid4())).status_code == 404


def test_kit_show_says_in_plain_words_what_the_gear_does(browser, trip, person):
    person.lenses.update(near_limit_m=5.2)
    subject = trip.sites.get().hides.get().hide_subjects.get().subject
    page = text(browser.get(url("kit-show", person)))
    assert f"{subject.name} fills about 44 % of the frame at 6.0 m with 600 mm" in page
    assert "Birds at the near water edge, 4.5 m, are inside the near limit of 5.2 m." in page
    assert "Maximum magnification assumed: test it with a tape." in page


def test_kit_show_names_the_lens_the_limit_and_the_distance_of_a_fault(browser, person):
    person.lenses.update(name="800 mm f/5.6", focal_min_mm=800, focal_max_mm=800, near_limit_m=6.5)
    page = text(browser.get(url("kit-show", person)))
    assert "800 mm f/5.6 focuses from 6.5 m on, and the perch is at 6.0 m: it cannot focus here." in page


def test_kit_show_in_feet_for_whoever_reads_feet(browser, person):
    person.units = "feet"
    person.save()
    assert "of the frame at 19.7 ft" in text(browser.get(url("kit-show", person)))


def test_kit_show_without_gear_counts_as_good_and_says_so(browser, person):
    person.lenses.all().delete()
    page = text(browser.get(url("kit-show", person)))
    assert "every hide counts as good for you" in page


def test_kit_show_costs_the_same_queries_with_many_pieces_and_hides(
    browser, trip, person, django_assert_max_num_queries
):
    for _ in range(10):
        factories.lens(participant=person)
        factories.hide_subject(hide=factories.hide(site=trip.sites.get()))
    with django_assert_max_num_queries(35):
        browser.get(url("kit-show", person))


def test_piece_new_saves_a_lens_and_names_it_by_its_numbers(browser, person):
    answer = browser.post(url("piece-new", person, kind="lens"), LENS | {"focal_max_mm": "", "weight_g": "3200"})
    assert answer.status_code == 302
    lens = person.lenses.get(weight_g=3200)
    assert (lens.name, lens.focal_max_mm, lens.aperture_long, lens.near_limit_m) == ("600 mm f/4", 600, 4, 5.2)


def test_piece_new_saves_one_of_each_kind(browser, person):
    sent = {
        "body": BODY,
        "converter": {"factor": "1.4"},
        "tube": {"length_mm": "25"},
        "support": {"kind": "bean_bag"},
        "battery": {"volts": "7.2", "ampere_hours": "2.28", "count": "3"},
    }
    for kind, data in sent.items():
        assert browser.post(url("piece-new", person, kind=kind), data).status_code == 302, kind
    assert person.bodies.filter(name="45 MP, 36 × 24 mm").exists()
    assert person.converters.get().name == "1.4× converter"
    assert person.tubes.get().name == "25 mm tube"
    assert person.supports.get().name == "bean bag"
    assert person.batteries.get().name == "16.4 Wh battery"


@pytest.mark.parametrize(
    ("kind", "data", "sentence"),
    [
        ("lens", LENS | {"aperture_wide": "0"}, "The widest f-number at the short end is from 0.5 to 64."),
        ("lens", LENS | {"focal_min_mm": "0"}, "The shortest focal length is from 1 to 5000 mm."),
        ("lens", LENS | {"focal_min_mm": "-600"}, "The shortest focal length is from 1 to 5000 mm."),
        ("lens", LENS | {"near_limit_m": "0"}, "The near limit is from 0.02 to 100 m."),
        ("lens", LENS | {"focal_max_mm": "200"}, "not shorter than its short end, 600 mm"),
        ("lens", LENS | {"near_limit_m": "1.500"}, "can be read in two ways: type 1.5 or 1500"),
        ("lens", LENS | {"near_limit_m": "2,5"}, "Is “2,5” 2.5? Type it with a point."),
        ("lens", LENS | {"focal_min_mm": "nan"}, "is not a number"),
        ("lens", LENS | {"focal_min_mm": "9" * 400}, "too long for a number"),
        ("lens", {}, "This field is required."),
        ("converter", {"factor": "0.5"}, "above 1 and at most 4"),
        ("body", BODY | {"sensor": "", "sensor_width_mm": "0", "sensor_height_mm": "0"}, "width is from 3 to 120 mm"),
        ("body", BODY | {"sensor": ""}, "type both of its sides"),
        ("body", BODY | {"pixels_wide": "0"}, "pixels across is from 320"),
        ("body", BODY | {"sensor": "1x1"}, "not one of the available choices"),
        ("tube", {"length_mm": "-12"}, "tube&#x27;s length is from 1 to 300 mm"),
        ("battery", {"volts": "0", "ampere_hours": "2", "count": "1"}, "The voltage is from 0.5 to 100 V."),
        ("support", {"kind": "balloon"}, "not one of the available choices"),
    ],
)  # fmt: skip
def test_bad_numbers_come_back_with_a_sentence_and_what_was_typed(browser, person, kind, data, sentence):
    answer = browser.post(url("piece-new", person, kind=kind), data)
    assert answer.status_code == 200
    page = text(answer)
    assert sentence in page
    assert 'role="alert"' in page
    for typed in data.values():
        if typed and typed not in ("on", "1x1", "balloon"):
            assert f'value="{typed}"' in page
    assert person.lenses.count() == 1
    assert person.bodies.count() == 1


def test_piece_edit_writes_back_only_what_was_changed(browser, person):
    lens = person.lenses.get()
    Lens.objects.filter(pk=lens.pk).update(near_limit_m=6.096, max_magnification=0.154321)
    person.units = "feet"
    person.save()
    address = url("piece-edit", person, kind="lens", piece_uuid=lens.uuid)
    for _ in range(10):
        page = browser.get(address)
        assert 'value="20"' in text(page)
        form = page.context["form"]
        data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, False)}
        data |= {"near_limit_m_unit": "ft", "seen_version": page.context["seen"], "weight_g": "3100"}
        assert browser.post(address, data).status_code == 302
        lens.refresh_from_db()
        assert (lens.near_limit_m, lens.max_magnification, lens.weight_g) == (6.096, 0.154321, 3100)
    person.units = "metric"
    person.save()
    assert 'value="6.1"' in text(browser.get(address))


def test_a_chosen_sensor_and_typed_sides_never_contradict_each_other(browser, person):
    body = person.bodies.get()
    address = url("piece-edit", person, kind="body", piece_uuid=body.uuid)
    form = browser.get(address).context["form"]
    assert (form["sensor"].value(), form["sensor_width_mm"].value()) == ("36x24", "")
    sent = BODY | {"sensor": "23.5x15.6", "seen_version": "1"}
    answer = browser.post(address, sent | {"sensor_width_mm": "36"})
    assert "The sensor chosen above has 23.5 mm here" in text(answer)
    assert browser.post(address, sent).status_code == 302
    body.refresh_from_db()
    assert (body.sensor_width_mm, body.sensor_height_mm) == (23.5, 15.6)
    own = sent | {"sensor": "", "sensor_width_mm": "23.7", "sensor_height_mm": "15.7", "seen_version": "2"}
    assert browser.post(address, own).status_code == 302
    body.refresh_from_db()
    assert (body.sensor_width_mm, body.sensor_height_mm) == (23.7, 15.7)
    assert browser.get(address).context["form"]["sensor_width_mm"].value() == "23.7"


def test_piece_edit_of_a_row_changed_meanwhile_keeps_what_was_typed(browser, person):
    lens = person.lenses.get()
    address = url("piece-edit", person, kind="lens", piece_uuid=lens.uuid)
    Lens.objects.filter(pk=lens.pk).update(version=7)
    answer = browser.post(address, LENS | {"weight_g": "2999", "seen_version": "1"})
    assert answer.status_code == 200
    assert "changed since you opened it" in text(answer)
    assert 'value="2999"' in text(answer)
    lens.refresh_from_db()
    assert lens.weight_g is None


def test_piece_remove_asks_first(browser, person):
    lens = person.lenses.get()
    address = url("piece-remove", person, kind="lens", piece_uuid=lens.uuid)
    page = browser.get(address)
    assert "off the list?" in text(page)
    assert person.lenses.exists()
    assert browser.post(address, {"seen_version": page.context["seen"]}).status_code == 302
    assert not person.lenses.exists()


def test_piece_remove_of_a_row_changed_meanwhile_asks_again(browser, person):
    lens = person.lenses.get()
    Lens.objects.filter(pk=lens.pk).update(version=2, name="600 mm, repaired")
    answer = browser.post(url("piece-remove", person, kind="lens", piece_uuid=lens.uuid), {"seen_version": 1})
    assert "changed since you opened it" in text(answer)
    assert "Take 600 mm, repaired off the list?" in text(answer)
    assert person.lenses.exists()


def from_the_queue(browser, address, data, client_uuid=None):
    """What a phone sends that kept a form for the time without a network."""
    sent = data | {"client_uuid": str(client_uuid or uuid.uuid4())}
    return browser.post(address, sent, headers={"X-Queued": "1"}).json()


def test_a_new_piece_that_waited_is_taken_once(browser, person):
    key = uuid.uuid4()
    for _ in range(2):
        said = from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | {"weight_g": "3200"}, key)
        assert said == {"taken": True, "next": url("kit-show", person)}
    assert person.lenses.filter(weight_g=3200).count() == 1
    assert Submission.objects.get().participant == person


def test_a_piece_that_waited_and_is_wrong_says_what_by_its_field(browser, person):
    said = from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | {"focal_max_mm": "200"})
    assert said["taken"] is False
    assert "not shorter than its short end, 600 mm" in said["errors"][0]
    assert person.lenses.count() == 1
    assert not Submission.objects.exists()


def test_a_change_that_waited_is_not_taken_over_somebody_elses(browser, person):
    lens = person.lenses.get()
    address = url("piece-edit", person, kind="lens", piece_uuid=lens.uuid)
    sent, key = LENS | {"weight_g": "2999", "seen_version": lens.version}, uuid.uuid4()
    for _ in range(2):
        assert from_the_queue(browser, address, sent, key)["taken"] is True
    lens.refresh_from_db()
    assert (lens.weight_g, lens.version) == (2999, sent["seen_version"] + 1)
    said = from_the_queue(browser, address, sent | {"weight_g": "1"})
    assert said["taken"] is False
    assert "changed since you opened it" in said["errors"][0]
    lens.refresh_from_db()
    assert lens.weight_g == 2999


def test_a_removal_that_waited_is_taken_again_when_the_piece_is_gone(browser, person):
    lens = person.lenses.get()
    address = url("piece-remove", person, kind="lens", piece_uuid=lens.uuid)
    assert from_the_queue(browser, address, {"seen_version": lens.version + 1})["taken"] is False
    for _ in range(2):
        assert from_the_queue(browser, address, {"seen_version": lens.version})["taken"] is True
    assert not person.lenses.exists()


def test_body_and_lens_of_a_picture_that_waited_are_taken_once_or_say_what_is_wrong(browser, person):
    data = {f"body-{name}": value for name, value in (BODY | {"use": "on"}).items()}
    data |= {f"lens-{name}": value for name, value in (LENS | {"aperture_wide": "0", "use": "on"}).items()}
    said = from_the_queue(browser, url("picture-save", person), data)
    assert said["taken"] is False
    assert "from 0.5 to 64" in said["errors"][0]
    assert person.bodies.count() == 1
    data["lens-aperture_wide"], key = "4", uuid.uuid4()
    for _ in range(2):
        assert from_the_queue(browser, url("picture-save", person), data, key)["taken"] is True
    assert (person.bodies.count(), person.lenses.count()) == (2, 2)


def test_a_new_piece_whose_answer_was_lost_and_that_was_changed_meanwhile_is_still_one(browser, person):
    row = {"row_uuid": str(uuid.uuid4())}
    for weight_g in ("3200", "3300"):
        assert from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | row | {"weight_g": weight_g})[
            "taken"
        ]
    lens = person.lenses.get(uuid=row["row_uuid"])
    assert (lens.weight_g, lens.version, person.lenses.count()) == (3300, 2, 2)
    said = from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | row | {"weight_g": "1"})
    assert said["taken"] is False
    assert "taken before and changed in your list since" in said["errors"][0]
    lens.refresh_from_db()
    assert lens.weight_g == 3300


def test_body_and_lens_of_a_picture_that_were_changed_before_they_arrived_again_are_still_two(browser, person):
    data = {f"body-{name}": value for name, value in (BODY | {"use": "on"}).items()}
    data |= {f"lens-{name}": value for name, value in (LENS | {"use": "on"}).items()}
    data["row_uuid"] = str(uuid.uuid4())
    for weight_g in ("3200", "3300"):
        assert from_the_queue(browser, url("picture-save", person), data | {"lens-weight_g": weight_g})["taken"] is True
    assert (person.bodies.count(), person.lenses.count()) == (2, 2)
    assert person.lenses.filter(weight_g=3300).exists()
    said = from_the_queue(browser, url("picture-save", person), data)
    assert "taken before and changed in your list since" in said["errors"][0]


def test_a_piece_named_like_somebody_elses_touches_nothing_of_theirs(browser, person):
    other = factories.lens(name="theirs")
    sent = LENS | {"row_uuid": str(other.uuid), "weight_g": "3200"}
    assert from_the_queue(browser, url("piece-new", person, kind="lens"), sent)["taken"] is True
    other.refresh_from_db()
    assert (other.name, other.version) == ("theirs", 1)
    assert person.lenses.filter(weight_g=3200).exclude(uuid=other.uuid).count() == 1


def test_what_is_wrong_comes_with_its_page_where_somebody_waits_for_the_answer(browser, person):
    sent = LENS | {"focal_max_mm": "200", "client_uuid": str(uuid.uuid4())}
    said = browser.post(url("piece-new", person, kind="lens"), sent, headers={"X-Queued": "now"}).json()
    assert "not shorter than its short end" in said["page"]
    assert 'value="200"' in said["page"]
    assert "page" not in from_the_queue(browser, url("piece-new", person, kind="lens"), sent)


def test_a_message_comes_with_the_next_page_where_somebody_waited_for_the_answer(browser, person):
    sent = LENS | {"client_uuid": str(uuid.uuid4())}
    browser.post(url("piece-new", person, kind="lens"), sent, headers={"X-Queued": "now"})
    assert "600 mm f/4 is in the list." in text(browser.get(url("kit-show", person)))
    from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | {"name": "second"})
    assert "second is in the list" not in text(browser.get(url("kit-show", person)))


def test_the_pack_of_a_phone_names_every_form_of_the_kit_and_its_state(browser, person):
    def pack():
        return browser.get(url("my-pack", person)).json()

    lens, before = person.lenses.get(), pack()
    for name in ("piece-edit", "piece-remove"):
        assert url(name, person, kind="lens", piece_uuid=lens.uuid) in before["paths"]
    assert url("piece-new", person, kind="battery") in before["paths"]
    assert pack()["kit"] == before["kit"]
    browser.post(url("piece-new", person, kind="tube"), {"length_mm": "25"})
    assert pack()["kit"] != before["kit"]
    assert pack()["edition"] == before["edition"]


def test_piece_try_shows_the_verdicts_of_what_is_being_typed_and_saves_nothing(browser, person):
    answer = browser.post(url("piece-try", person, kind="lens"), LENS | {"replaces": str(person.lenses.get().uuid)})
    assert "Birds at the near water edge, 4.5 m, are inside the near limit of 5.2 m." in text(answer)
    assert "<html" not in text(answer)
    half = browser.post(url("piece-try", person, kind="lens"), LENS | {"focal_min_mm": ""})
    assert half.status_code == 200
    assert "Some numbers are missing or unclear" in text(half)
    assert person.lenses.count() == 1
    assert browser.get(url("piece-try", person, kind="lens")).status_code == 405


def test_limits_of_steps_and_walk_are_said_beside_the_reach(browser, trip, place, person):
    hide = trip.sites.get().hides.get()
    hide.steps, hide.walk_m = 5, 300
    hide.save()
    place.steps_limit, place.walk_limit_m = 3, 100
    place.save()
    page = text(browser.get(url("kit-show", person)))
    assert "5 steps, at most 3; a walk of 300 m, at most 100 m" in page


def picture(data, name="DSC_1.JPG"):
    return SimpleUploadedFile(name, data, "image/jpeg")


def test_kit_picture_shows_what_was_read_and_asks_what_pictures_do_not_carry(browser, person):
    page = text(browser.post(url("kit-picture", person), {"picture": picture(jpeg())}))
    assert "36 × 24 mm" in page
    assert "8256 × 5504 pixels" in page
    assert "both agree" in page
    assert "Pictures do not carry the near limit" in page
    assert 'value="600"' in page
    assert not person.bodies.filter(name="Body 45").exists()


def test_picture_save_puts_body_and_lens_into_the_kit(browser, person):
    data = {f"body-{name}": value for name, value in (BODY | {"name": "Body 45", "use": "on"}).items()}
    data |= {f"lens-{name}": value for name, value in (LENS | {"name": "long one", "use": "on"}).items()}
    data["lens-near_limit_m_unit"] = "m"
    assert browser.post(url("picture-save", person), data).status_code == 302
    assert person.bodies.filter(name="Body 45", sensor_width_mm=36).exists()
    assert person.lenses.filter(name="long one", near_limit_m=5.2).exists()


def test_picture_save_of_one_of_the_two_and_of_wrong_numbers(browser, person):
    data = {f"lens-{name}": value for name, value in (LENS | {"aperture_wide": "0", "use": "on"}).items()}
    answer = browser.post(url("picture-save", person), data)
    assert "from 0.5 to 64" in text(answer)
    assert person.lenses.count() == 1
    data["lens-aperture_wide"] = "4"
    assert browser.post(url("picture-save", person), data).status_code == 302
    assert person.lenses.count() == 2
    assert Body.objects.filter(participant=person).count() == 1


def test_a_picture_of_a_focal_length_that_is_an_equivalent_says_both(browser, person):
    tags = FULL_FRAME | {0x920A: (RATIO, [(400, 1)]), 0xA432: (RATIO, [(400, 1), (400, 1), (4, 1), (4, 1)])}
    page = text(browser.post(url("kit-picture", person), {"picture": picture(jpeg(tags))}))
    assert "as 600 mm does on 36 × 24 mm" in page
    assert "The sensor’s size is not certain" in page or "The sensor&#x27;s size is not certain" in page


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (png(20_000, 20_000), "more than 62 million pixels"),
        (png(8_000, 8_000), "more than 62 million pixels"),
        (png(20, 20), "This is no JPEG."),
        (b"name;age\r\nAna;4\r\n", "This file is no picture."),
        (b"", "This file is no picture."),
        (jpeg(block=b"XX"), "carries no data of the camera"),
        (jpeg(FULL_FRAME | {0x920A: (RATIO, [(0, 0)]), 0xA432: (RATIO, [(0, 0)] * 4)}), "not known"),
    ],
    ids=["giant", "large", "png", "text", "empty", "no data", "nothing over nothing"],
)
def test_files_that_say_nothing_come_back_with_a_sentence(browser, person, data, sentence):
    answer = browser.post(url("kit-picture", person), {"picture": picture(data)})
    assert answer.status_code == 200
    assert sentence in text(answer)
    assert "nan" not in text(answer).replace("nancy", "")


def test_no_file_at_all_is_asked_for(browser, person):
    assert "Choose a picture first." in text(browser.post(url("kit-picture", person), {}))


def test_an_upload_of_two_gigabytes_is_refused_before_it_is_read(browser, person):
    class Unreadable:
        def read(self, *args):
            raise AssertionError("the body was read")

        readline = read

    answer = browser.post(
        url("kit-picture", person),
        {"picture": picture(jpeg())},
        CONTENT_LENGTH=str(2 * 1024**3),
        **{"wsgi.input": Unreadable()},
    )
    assert answer.status_code == 200
    assert "larger than 80 MB" in text(answer)


def test_a_whole_picture_by_plain_upload_is_cut_to_its_head(browser, person):
    answer = browser.post(url("kit-picture", person), {"picture": picture(jpeg() + b"\x00" * 9_000_000)})
    assert "both agree" in text(answer)


def test_the_picture_page_still_wants_its_form_token(person):
    checking = Client(enforce_csrf_checks=True)
    checking.cookies = signed_in(person).cookies
    assert checking.post(url("kit-picture", person), {"picture": picture(jpeg())}).status_code == 403


def test_packing_show_lists_the_gear_and_the_supports_by_hide(browser, trip, person):
    hide = trip.sites.get().hides.get()
    hide.support = "bean_bag"
    hide.save()
    factories.people.Battery.objects.create(participant=person, name="large", volts=14.8, ampere_hours=8.0, count=2)
    page = text(browser.get(url("packing-show", person)))
    assert "600 mm f/4" in page
    assert f"Bean bag for {hide.name}: not in your list" in page
    assert "118.4 Wh" in page
    assert "ask the carrier" in page
    assert "6 l, so 6 bottles of one litre" in page


def test_packing_show_of_a_guest_has_no_camera(browser, place, person):
    place.photographs = False
    place.save()
    page = text(browser.get(url("packing-show", person)))
    assert "Quiet soles" in page
    assert "600 mm" not in page
    assert "without a camera" in text(browser.get(url("kit-show", person)))
