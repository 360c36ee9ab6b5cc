"""The pages of the house in Chromium: sign-in, colours, what goes wrong."""

import pytest

from tests import factories
from tests.browser.conftest import PHONE, WIDE, assert_accessible, assert_fits, assert_thumb_sized

PASSWORD = "quiet-soles-27"


@pytest.mark.parametrize("size", [PHONE, WIDE])
@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("path", ["/sign-in/", "/nothing-here/"])
def test_a_page_of_the_house_is_accessible_and_fits(open_page, path: str, colours: str, size: tuple[int, int]) -> None:
    page = open_page(path, size=size, color_scheme=colours)
    assert_accessible(page)
    assert_fits(page)
    assert_thumb_sized(page)


def test_a_leader_signs_in_by_keyboard_alone_and_out_again(open_page) -> None:
    leader = factories.leader()
    page = open_page("/sign-in/")
    page.keyboard.press("Tab")
    if page.evaluate("document.activeElement.name") != "username":
        page.focus("[name=username]")
    page.keyboard.type(leader.username)
    page.keyboard.press("Tab")
    page.keyboard.type("not it")
    page.keyboard.press("Enter")
    page.wait_for_selector("[role=alert]")
    assert_accessible(page)
    assert page.input_value("[name=username]") == leader.username
    page.fill("[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: "sign-in" not in url)
    page.click("text=Sign out")
    page.wait_for_url("**/sign-in/")


def test_the_skip_link_leads_past_the_head(open_page) -> None:
    page = open_page("/nothing-here/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


@pytest.mark.parametrize("scripts", [True, False])
def test_the_colours_are_chosen_with_or_without_scripts(open_page, scripts: bool) -> None:
    page = open_page("/sign-in/", color_scheme="light", java_script_enabled=scripts)
    page.click("button[value=dark]")
    page.wait_for_url("**/sign-in/")
    assert page.get_attribute("html", "data-bs-theme") == "dark"
    assert page.get_attribute("button[value=dark]", "aria-pressed") == "true"
    page.click("button[value=device]")
    page.wait_for_url("**/sign-in/")
    assert page.get_attribute("html", "data-bs-theme") is None


def test_dark_by_choice_and_dark_by_the_device_look_alike(open_page) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    by_device = open_page("/sign-in/", color_scheme="dark").evaluate(ground)
    chosen = open_page("/sign-in/", color_scheme="light")
    assert chosen.evaluate(ground) != by_device
    chosen.click("button[value=dark]")
    chosen.wait_for_url("**/sign-in/")
    assert chosen.evaluate(ground) == by_device


def test_the_house_font_is_the_packaged_one(open_page) -> None:
    page = open_page("/sign-in/")
    page.evaluate("document.fonts.ready")
    assert page.evaluate("document.fonts.check('16px \"Source Sans Pro\"')")
    loaded = page.evaluate("[...document.fonts].filter(face => face.status === 'loaded').map(face => face.family)")
    assert loaded
