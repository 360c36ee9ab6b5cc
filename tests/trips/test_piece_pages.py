"""Pieces of gear: new, changed, removed, and refused with a sentence."""

import pytest

from participants.models import Lens
from tests import factories
from tests.trips.gear_forms import BODY, LENS, text, url

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=1, hides=1)


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
        ("lens", LENS | {"near_limit_m": "2,500"}, "type 2.5 or 2500"),
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
