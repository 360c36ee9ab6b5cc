"""What a leader does on the pages, step by step, the same with and without scripts."""

from datetime import date

from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

HIDES = (("Alder", "250", "6"), ("Birch", "100", "5.5"), ("Cedar", "0", "12"))
PEOPLE = ("Ana Ferreiro", "Béla Ünal", "Cem Demirel", "Dita Novák")
PASSWORD = "quiet-soles-27"
RUN_MS = 90_000  # how long a run of the planner may take on a busy machine


def first_day() -> date:
    """The eighth of May of next year, so that no session of these tests is ever over."""
    return date(timezone.now().year + 1, 5, 8)


def press(page: Page | Locator, name: str) -> None:
    """Press the button of that name."""
    page.get_by_role("button", name=name, exact=True).click()


def follow(page: Page | Locator, name: str) -> None:
    """Follow the link of that name."""
    page.get_by_role("link", name=name, exact=True).click()


def tab(page: Page, name: str) -> None:
    """Go to a room of the trip by its tab."""
    page.get_by_role("navigation", name="Pages of").get_by_role("link", name=name, exact=True).click()


def done(page: Page, words: str) -> None:
    """The page says that it is done."""
    expect(page.locator("#messages")).to_contain_text(words)


def sign_in_by_page(page: Page, username: str) -> None:
    """Sign in as people do."""
    page.goto("/")
    page.fill("[name=username]", username)
    page.fill("[name=password]", PASSWORD)
    page.press("[name=password]", "Enter")
    expect(page.get_by_role("heading", name="Trips")).to_be_visible()


def begin_trip(page: Page, name: str, days: int = 2) -> None:
    """A new trip, from the list."""
    first = first_day()
    follow(page, "Begin a trip")
    page.get_by_label("Name").fill(name)
    page.get_by_label("First day").fill(first.isoformat())
    page.get_by_label("Last day").fill(first.replace(day=first.day + days - 1).isoformat())
    press(page, "Save the trip")
    expect(page.get_by_role("heading", name=name, level=1)).to_be_visible()


def add_site(page: Page) -> None:
    """The trip's site, from its page of hides."""
    tab(page, "Hides")
    page.get_by_role("main").get_by_role("link", name="Add a site").last.click()
    page.get_by_label("Name").fill("Dehesa de la Garza")
    page.get_by_label("Position", exact=False).first.fill("39.5, -6.2")
    page.get_by_label("Time zone").fill("Europe/Madrid")
    press(page, "Save the site")
    done(page, "Add its hides next")


def add_hide(page: Page, hide: tuple[str, str, str], seats: tuple[str, ...] = ("left", "right")) -> None:
    """A hide by the four things that are required; the page of a new hide is open."""
    name, bearing_deg, near_m = hide
    page.fill("#id_name", name)
    page.fill("#id_view-0-bearing_deg", bearing_deg)
    page.fill("#id_view-0-near_m", near_m)
    for number, seat in enumerate(seats):
        if number:
            page.get_by_text("Another seat").click()
        page.fill(f"#id_seat-{number}-name", seat)
    press(page, "Save the hide")
    done(page, f"{name} is saved")


def add_hides(page: Page, hides: tuple[tuple[str, str, str], ...] = HIDES) -> None:
    """All hides, the first on the page that a new site led to."""
    for number, hide in enumerate(hides):
        if number:
            tab(page, "Hides")
            page.get_by_role("link", name="Add a hide").click()
        add_hide(page, hide)


def add_person(page: Page, name: str) -> None:
    """Somebody by name alone, confirmed."""
    tab(page, "People")
    page.get_by_role("main").get_by_role("link", name="Add a person").first.click()
    page.get_by_label("Name").fill(name)
    page.get_by_label("Place on the trip").select_option("confirmed")
    press(page, "Add")
    done(page, f"{name} is on the trip")


def add_gear(page: Page, name: str, *, focal_mm: str = "600") -> None:
    """A body and a lens, typed by the leader; the person's page is open."""
    follow(page.get_by_role("navigation", name=f"Pages of {name}"), "Gear")
    follow(page, "Add a body")
    page.get_by_label("Pixels across").fill("8256")
    page.get_by_label("Pixels down").fill("5504")
    press(page, "Save")
    follow(page, "Add a lens")
    page.get_by_label("Shortest focal length", exact=False).first.fill(focal_mm)
    page.get_by_label("Widest aperture", exact=False).first.fill("4")
    page.get_by_label("Near limit", exact=False).first.fill("4.2")
    press(page, "Save")
    done(page, "is in the list")


def make_sessions(page: Page) -> None:
    """Early and late on every day, seen beside the sun before they are saved."""
    tab(page, "Sessions")
    page.get_by_role("main").get_by_role("link", name="Make").first.click()
    press(page, "Show what this makes")
    expect(page.get_by_role("heading", name="What the rules make")).to_be_visible()
    press(page, "Save the ticked sessions")
    done(page, "sessions saved")


def plan(page: Page, search_time: str = "quick") -> None:
    """Ask for a rota; the page of the run is open afterwards."""
    tab(page, "Rota")
    page.get_by_role("main").get_by_role("link", name="Make").first.click()
    page.get_by_label("Search time").select_option(search_time)
    press(page, "Make it")
    expect(page.get_by_role("heading", name="Making a rota")).to_be_visible()


def names_in_order(page: Page) -> list[str]:
    """Everybody on the rota's page by session and hide, in the page's order."""
    return [name.strip() for name in page.locator(".rota-person a").all_inner_texts()]
