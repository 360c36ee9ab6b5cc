"""Wait for what a test of a page expects, where no `expect` can look."""

from collections.abc import Callable

from playwright.sync_api import Page

from tests.waiting import until


def page_until(page: Page, is_so: Callable[[], object], *, within_s: float = 120, what: str = "") -> None:
    """Look until `is_so` answers true, while the page's requests, dialogs and messages go on."""
    until(is_so, within_s=within_s, pause=lambda seconds: page.wait_for_timeout(seconds * 1000), what=what)
