"""One clock for tests that compare with "now": it stands still, whatever the day of the run and however slow."""

from collections.abc import Iterator
from contextlib import AbstractContextManager
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from unittest import mock

import pytest
from django.utils import timezone

MOMENT = datetime(2027, 3, 1, 12, 0, tzinfo=UTC)  # noon, before every trip of tests/factories.py


class FrozenClock:
    """Stands at `moment` until a test sets another; each look is a microsecond later, so what came later says so."""

    def __init__(self, moment: datetime = MOMENT) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        self.moment += timedelta(microseconds=1)
        return self.moment


@pytest.fixture
def clock() -> Iterator[FrozenClock]:
    """Django's clock in this process: rows, sessions, pages and the test itself see the same moment."""
    frozen = FrozenClock()
    with mock.patch.object(timezone, "now", frozen):
        yield frozen


def clock_of(module: str, moment: datetime) -> AbstractContextManager[object]:
    """Only this module looks at a clock that shows `moment`; sign-ins keep theirs, and do not end."""
    return mock.patch(f"{module}.timezone", SimpleNamespace(now=lambda: moment))
