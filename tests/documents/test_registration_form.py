"""The form for those who write by hand: it asks whatever can be typed."""

import pytest

from participants.core.isolation import isolated
from trips.documents.registration_form import form_parts
from trips.forms.gear import BodyForm, LensForm
from trips.forms.my import ContactForm, DetailsForm, HealthForm, WishesForm

ASKED = {
    WishesForm: {
        "light_wish": "Light",
        "output": "I make of it",
        "again": "I want to go back to",
        "company_with": "Person",
        "company_how": "How",
    },
    DetailsForm: {
        "steps_limit": "Steps, at most",
        "steps_firm": "Steps, at most: more I cannot do, more I would rather not do",
        "walk_limit_m": "Walk one way, at most (m or ft)",
        "walk_firm": "Walk one way, at most (m or ft): more I cannot do, more I would rather not do",
        "entry_limit": "Hardest entrance",
        "entry_firm": "anything else I cannot do, anything else I would rather not do",
        "hours_limit": "Hours at a stretch, at most",
        "hours_firm": "Hours at a stretch, at most: more I cannot do, more I would rather not do",
        "carry_help": "I need help with carrying",
    },
    ContactForm: {
        "phone": "Telephone",
        "emergency_contact": "Emergency contact",
        "diet": "Food you do not eat",
        "language": "Language: English, Deutsch, Español",
        "units": "I measure in: metres and °C, feet and °F",
    },
    HealthForm: {"text": "What my leader should know"},
    BodyForm: {
        "sensor": "Sensor, mm",
        "sensor_width_mm": "Sensor, mm",
        "sensor_height_mm": "Sensor, mm",
        "pixels_wide": "Pixels",
        "pixels_high": "Pixels",
        "frames_per_s": "Frames a second",
        "af_limit_f": "Autofocus to f/",
        "top_iso": "Top good ISO",
        "spare": "To lend?",
    },
    LensForm: {
        "focal_min_mm": "Focal length, mm",
        "focal_max_mm": "Focal length, mm",
        "aperture_wide": "f/",
        "aperture_long": "f/",
        "near_limit_m": "Near limit, m or ft",
        "max_magnification": "Magnification, at most",
        "takes_converter": "Takes a converter?",
        "weight_g": "Weight, g",
        "spare": "To lend?",
    },
}
MADE_OF_THE_REST = {"name"}


def asked_text() -> str:
    parts = form_parts(("Hoopoe",), ("Alder", "Birch"))
    lines = [f"{one.text}: {', '.join(one.choices)}" for part in parts for one in part.questions]
    lines += [column for part in parts for grid in part.grids for column in grid.columns]
    return "\n".join(lines).replace("\u00ad", "")


@pytest.mark.parametrize("form", ASKED)
def test_every_field_that_can_be_typed_is_asked_on_paper(form):
    text = asked_text()
    assert set(form.base_fields) - MADE_OF_THE_REST == set(ASKED[form])
    assert [words for words in ASKED[form].values() if words not in text] == []


def test_every_animal_has_its_line_for_votes_and_every_hide_its_box():
    assert [part.votes for part in form_parts(("Hoopoe",)) if part.votes] == [(isolated("Hoopoe"),)]
    assert "I want to go back to: Alder, Birch" in asked_text()
    assert "Votes" not in "".join(one.text for part in form_parts(()) for one in part.questions)


def test_who_reads_of_health_and_of_company_is_said():
    notes = {part.title: part.note for part in form_parts(())}
    assert "Only the leaders read it" in notes["Health"]
    assert "Only your leader reads this." in notes["Company"]


def test_what_the_leader_knows_needs_no_line():
    (name, phone, *_), *_ = (part.questions for part in form_parts((), known=(("Name", "Marta"), ("Telephone", " "))))
    assert (name.known, name.lines) == ("Marta", 0)
    assert (phone.known, phone.lines) == ("", 1)
