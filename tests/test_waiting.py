"""What is waited for is looked at again and again, and a deadline ends what never comes."""

import pytest

from tests.waiting import until


def test_what_is_so_is_looked_at_once():
    looks = []
    until(lambda: looks.append("look") or True, pause=lambda _seconds: pytest.fail("paused"))
    assert looks == ["look"]


def test_what_comes_later_is_looked_at_until_then():
    looks, pauses = [], []
    until(lambda: looks.append("look") or len(looks) == 3, pause=pauses.append)
    assert (len(looks), len(pauses)) == (3, 2)


def test_what_never_comes_fails_in_words():
    with pytest.raises(AssertionError, match="still not: the worker says hello"):
        until(lambda: False, within_s=0, what="the worker says hello")
