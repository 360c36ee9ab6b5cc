"""Rows made once for all tests of a file; each test's own changes are undone as ever."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.contrib.sessions.models import Session
from django_tasks_db.models import DBTaskResult

from participants import models as people
from trips import models


def made_once(make: Callable[[], Any]) -> Any:
    """A fixture of module scope that makes rows before the first test and takes all rows away after the last."""

    @pytest.fixture(scope="module")
    def made(django_db_setup: Any, django_db_blocker: Any) -> Iterator[Any]:
        with django_db_blocker.unblock():
            rows = make()
        yield rows
        with django_db_blocker.unblock():
            forget_everything()

    return made


def forget_everything() -> None:
    """An empty database."""
    models.Rota.objects.update(follows=None)
    for model in (models.Issue, models.Turn, models.Rest, models.Rota, models.Trip, models.Site, people.Participant):
        model.objects.all().delete()
    for model in (people.AccessLink, people.LinkPress, people.Submission, Session, DBTaskResult):
        model.objects.all().delete()
    get_user_model().objects.all().delete()
