"""Addresses and typed numbers of a person's gear."""

from django.test import Client
from django.urls import reverse

from participants.services import device_add

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


def url(name, person, **more):
    return reverse(f"trips:{name}", kwargs={"person_uuid": person.uuid, **more})


def text(answer):
    return answer.content.decode()
