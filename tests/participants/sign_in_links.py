"""Sign-in links, read from mails and pressed."""

import re

from django.urls import reverse

from participants import services

IMMEDIATE = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend", "QUEUES": []}}  # any queue


def link_and_code(box):
    text = box.text()
    return re.search(r"http://testserver(/in/\S+)", text)[1], re.search(r"\b(\d{6})\b", text)[1]


def token_of(path):
    return path.split("/")[2]


def press(client, path, code=""):
    return client.post(reverse("participants:link-press"), {"token": token_of(path), "code": code})


def home(person):
    return reverse("trips:my-start", args=[person.uuid])


def handed_path(person):
    return reverse("participants:link-open", args=[services.link_hand_over(person=person)])
