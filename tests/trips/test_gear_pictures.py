"""Body and lens read from a picture, and pictures that are refused."""

import pytest
from django.core.files import uploadedfile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from participants.models import Body
from tests import factories
from tests.core.pictures import FULL_FRAME, RATIO, jpeg, png
from tests.trips.gear_forms import BODY, LENS, signed_in, text, url

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=1, hides=1)


def picture(data, name="DSC_1.JPG"):
    return SimpleUploadedFile(name, data, "image/jpeg")


def test_gear_picture_shows_what_was_read_and_asks_what_pictures_do_not_carry(browser, person):
    page = text(browser.post(url("gear-picture", person), {"picture": picture(jpeg())}))
    assert "36 × 24 mm" in page
    assert "8256 × 5504 pixels" in page
    assert "both agree" in page
    assert "Pictures do not carry the near limit" in page
    assert 'value="600"' in page
    assert not person.bodies.filter(name="Body 45").exists()


def test_picture_save_puts_body_and_lens_into_the_gear(browser, person):
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
    page = text(browser.post(url("gear-picture", person), {"picture": picture(jpeg(tags))}))
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
    answer = browser.post(url("gear-picture", person), {"picture": picture(data)})
    assert answer.status_code == 200
    assert sentence in text(answer)
    assert "nan" not in text(answer).replace("nancy", "")


def test_no_file_at_all_is_asked_for(browser, person):
    assert "Choose a picture first." in text(browser.post(url("gear-picture", person), {}))


def test_an_upload_of_two_gigabytes_is_refused_before_it_is_read(browser, person):
    class Unreadable:
        def read(self, *args):
            raise AssertionError("the body was read")

        readline = read

    answer = browser.post(
        url("gear-picture", person),
        {"picture": picture(jpeg())},
        CONTENT_LENGTH=str(2 * 1024**3),
        **{"wsgi.input": Unreadable()},
    )
    assert answer.status_code == 200
    assert "larger than 80 MB" in text(answer)


def test_an_upload_that_is_somewhat_too_large_runs_off_so_that_its_sender_hears_why(browser, person):
    class Line:
        left = 81 * 2**20

        def read(self, size=0):
            sent = min(size, self.left)
            self.left -= sent
            return b" " * sent

        readline = read

    answer = browser.post(
        url("gear-picture", person), {}, CONTENT_LENGTH=str(Line.left), **{"wsgi.input": (line := Line())}
    )
    assert "larger than 80 MB" in text(answer)
    assert line.left == 0


def test_a_page_that_asks_for_no_file_reads_none(client, monkeypatch):
    """Whoever is not signed in would else fill the disk, two hundred megabytes a time."""
    monkeypatch.setattr(uploadedfile.tempfile, "NamedTemporaryFile", None)
    file = SimpleUploadedFile("film.bin", b"x" * 3_000_000)
    answer = client.post("/sign-in/", {"username": "ana", "file": file})
    assert answer.status_code == 200
    assert not answer.wsgi_request.FILES


def test_a_whole_picture_by_plain_upload_is_cut_to_its_head(browser, person):
    answer = browser.post(url("gear-picture", person), {"picture": picture(jpeg() + b"\x00" * 9_000_000)})
    assert "both agree" in text(answer)


def test_the_picture_page_still_wants_its_form_token(person):
    checking = Client(enforce_csrf_checks=True)
    checking.cookies = signed_in(person).cookies
    assert checking.post(url("gear-picture", person), {"picture": picture(jpeg())}).status_code == 403
