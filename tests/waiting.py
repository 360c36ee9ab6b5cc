"""Wait for what a test expects: look again and again up to a deadline; no test sleeps and hopes."""

import time
from collections.abc import Callable

LOOK_EVERY_S = 0.05


def until(
    is_so: Callable[[], object], *, within_s: float = 120, pause: Callable[[float], object] = time.sleep, what: str = ""
) -> None:
    """Look until `is_so` answers true; fail with `what` was waited for once `within_s` are over.

    `pause` takes seconds. A test of a page pauses in the page's own loop: `page_until` beside the browser tests.
    """
    ends_s = time.monotonic() + within_s
    while not is_so():
        assert time.monotonic() < ends_s, f"after {within_s:.0f} s still not: {what or 'what was waited for'}"
        pause(LOOK_EVERY_S)
