"""What is looked at on every page of the leader in every state: rules of axe in both schemes, width, thumbs."""

from playwright.sync_api import Page

from tests.browser.conftest import PHONE, WCAG, WIDE, assert_fits, assert_thumb_sized, axe_report

ALL_RULES = {"type": "tag", "values": [*WCAG, "best-practice"]}
# What another scheme and another width can change.
LOOK_RULES = {"type": "rule", "values": ["color-contrast", "link-in-text-block", "target-size"]}


def troubles_of(page: Page, state: str) -> list[str]:
    """Everything that is wrong with the page as it stands: wide and light, then on a phone in the dark."""
    found = [f"{state}, {line}" for line in look_at(page, WIDE, "light", ALL_RULES)]
    found += [f"{state}: a summary leads to {where}, which is not there" for where in loose_ends(page)]
    return found + [f"{state}, {line}" for line in look_at(page, PHONE, "dark", LOOK_RULES)]


def show(page: Page, size: tuple[int, int], colours: str) -> None:
    """The page that is open, in another width and scheme, without asking the server again."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.emulate_media(color_scheme=colours, reduced_motion="reduce")  # no colour half-way to another


def look_at(page: Page, size: tuple[int, int], colours: str, rules: dict) -> list[str]:
    show(page, size, colours)
    report = axe_report(page, rules)
    found = [f"{colours}: {report}"] if report else []
    for check in (assert_fits, assert_thumb_sized):
        try:
            check(page)
        except AssertionError as trouble:
            found.append(f"{size[0]} px: {trouble}")
    return found


def loose_ends(page: Page) -> list[str]:
    """Links within the page that lead nowhere, such as from the summary of a refused form to its field."""
    return page.eval_on_selector_all(
        "main a[href^='#']",
        "all => all.map(one => one.getAttribute('href')).filter(one => !document.getElementById(one.slice(1)))",
    )
