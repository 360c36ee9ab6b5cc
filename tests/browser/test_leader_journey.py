"""A leader sets up a trip from nothing, plans it in a real worker, changes it, issues it, and a participant sees it;
with scripts by mouse and by keyboard, and once without any script."""

import pytest
from playwright.sync_api import Page, expect

from participants.models import Participant
from tests import factories
from tests.browser import leader_steps as steps
from tests.browser.page_waiting import page_until
from tests.trips.rota_trips import estate
from trips.models import Change, Pin, Rota, Seat, Trip

pytestmark = pytest.mark.django_db(transaction=True)
STARTED = "A start in May"


def set_up(page: Page, people: tuple[str, ...] = steps.PEOPLE, hides: tuple = steps.HIDES) -> Trip:
    """From an empty list of trips to everything that a rota needs."""
    steps.begin_trip(page, STARTED)
    expect(page.get_by_role("main")).to_contain_text("This trip has no site yet.")
    steps.add_site(page)
    steps.add_hides(page, hides)
    for number, name in enumerate(people):
        steps.add_person(page, name)
        if number == 0:
            steps.add_gear(page, name)
            page.goto("/trips/")
            steps.follow(page, STARTED)
    steps.make_sessions(page)
    return Trip.objects.get()


def open_rota(page: Page, number: int) -> None:
    expect(page.get_by_role("heading", name=f"Rota {number}", exact=False, level=1)).to_be_visible()


def by_hides(page: Page) -> None:
    """The rota with a row for each hide, where its free seats stand too."""
    way = page.get_by_role("navigation", name="Rows").get_by_role("link", name="Hides")
    if way.get_attribute("aria-current") is None:
        way.click()
        expect(way).to_have_attribute("aria-current", "true")


def seat_line(page: Page, name: str):
    """The first turn of a person on the rota's page, which calls people by their first names."""
    by_hides(page)
    return page.locator(".rota-person", has_text=name.split()[0]).first


def cell_of(page: Page, name: str):
    """The cell of the first turn of a person."""
    by_hides(page)
    return page.locator(".rota-cell", has=page.locator(".rota-person", has_text=name.split()[0])).first


def free_cell(page: Page, name: str):
    """A cell in the same session with a free seat, where that person does not sit."""
    session = cell_of(page, name).get_attribute("data-drop-session")
    cells = page.locator(f'.rota-cell[data-drop-session="{session}"]')
    return cells.filter(has=page.locator(".rota-free")).filter(has_not_text=name.split()[0]).first


def free_seat(rota: Rota, session: str, hide: str) -> Seat:
    """A seat of that hide which nobody has in that session."""
    taken = rota.turns.filter(session__uuid=session).values_list("seat_id", flat=True)
    return Seat.objects.filter(hide__name=hide).exclude(pk__in=taken).first()


def issue(page: Page) -> None:
    steps.follow(page, "Issue it")
    expect(page.get_by_role("main")).to_contain_text("All their days.")
    steps.press(page, "Issue it to everybody")
    steps.done(page, "is issued")


def own_page_says(open_context, person: Participant, hide: str) -> None:
    """The participant's own first day names the hide."""
    page = open_context(person=person, size=(360, 740)).new_page()
    page.goto(f"/my/{person.uuid}/days/")
    expect(page.get_by_role("main")).to_contain_text(hide)


def test_from_nothing_to_an_issued_rota_by_mouse_and_by_keyboard(open_context, worker) -> None:
    page = open_context(size=(1280, 900)).new_page()
    steps.sign_in_by_page(page, factories.leader(first_name="Nuria", last_name="Sanz").username)
    trip = set_up(page)
    steps.plan(page)
    page.wait_for_url("**/rota/1/", timeout=steps.RUN_MS)
    open_rota(page, 1)
    expect(page.get_by_role("main")).to_contain_text("of their own best")
    assert len(steps.names_in_order(page)) >= 4 * 4
    rota = Rota.objects.get()
    move_by_mouse(page, rota)
    move_by_keyboard(page, rota)
    undo(page, rota)
    pin_by_keyboard(page)
    turn = rota.turns.filter(place__participant__name=steps.PEOPLE[0]).select_related("hide").first()
    issue(page)
    own_page_says(open_context, turn.place.participant, turn.hide.name)
    assert trip.rotas.get().state == "issued"


def move_by_mouse(page: Page, rota: Rota) -> None:
    """A name is dragged onto a hide, then onto a free seat there; the effect stands there before it is done."""
    name = steps.PEOPLE[1]
    target = free_cell(page, name)
    hide = target.get_attribute("data-label")
    line = seat_line(page, name)
    line.scroll_into_view_if_needed()
    line.drag_to(target, target_position={"x": 4, "y": 4})
    expect(page.get_by_role("heading", name="What this would do")).to_be_visible()
    page.go_back()
    line.drag_to(target.locator("[data-drop-seat]").first)
    expect(page.get_by_role("heading", name="What this would do")).to_be_visible()
    expect(page.get_by_role("main")).to_contain_text(f"{name} sits in {hide}")
    assert not Change.objects.exists()
    page.get_by_label("Why").fill("there are bee-eaters")
    steps.press(page, "Do it")
    steps.done(page, "Changed.")
    expect(cell_of(page, name)).to_have_attribute("data-label", hide)
    change = Change.objects.get()
    assert (change.why, change.who) == ("there are bee-eaters", rota.trip.leader)


def move_by_keyboard(page: Page, rota: Rota) -> None:
    """Nothing but Tab, arrows, Space and Enter: open a name, choose a seat, read the effect, do it."""
    name = steps.PEOPLE[2]
    target = free_cell(page, name)
    hide, session = target.get_attribute("data-label"), target.get_attribute("data-drop-session")
    seat = free_seat(rota, session, hide)
    seat_line(page, name).get_by_role("link").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Why here")).to_be_visible()
    tab_to(page, "Move, swap or rest")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Seat", exact=True)).to_be_visible()
    tab_to(page, "Seat")
    page.keyboard.type(f"{hide}, {seat.name}")
    tab_to(page, "Show the effect")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What this would do")).to_be_visible()
    expect(page.get_by_role("main")).to_contain_text(f"{name} sits in {hide}, {seat.name}")
    tab_to(page, "Do it")
    page.keyboard.press("Enter")
    steps.done(page, "Changed.")
    expect(cell_of(page, name)).to_have_attribute("data-label", hide)
    assert Change.objects.count() == 2


def tab_to(page: Page, name: str, presses: int = 60) -> None:
    """Press Tab until the control of that name (its text or label) has the focus."""
    for _ in range(presses):
        page.keyboard.press("Tab")
        found = page.evaluate(
            """() => { const node = document.activeElement;
                return (node.labels?.[0]?.textContent ?? node.textContent).trim().replace(/\\*$/, ""); }"""
        )
        if found == name:
            return
    raise AssertionError(f"{name!r} is not reached by Tab on {page.url}")


def undo(page: Page, rota: Rota) -> None:
    """The last change is taken back, the one before stays."""
    name = steps.PEOPLE[2]
    moved_to = cell_of(page, name).get_attribute("data-label")
    steps.press(page, "Undo this change")
    steps.done(page, "Undone.")
    expect(cell_of(page, name)).not_to_have_attribute("data-label", moved_to)
    assert rota.turns.filter(place__participant__name=steps.PEOPLE[1]).exists()


def pin_by_keyboard(page: Page) -> None:
    """A turn is pinned for all later plans."""
    seat_line(page, steps.PEOPLE[0]).get_by_role("link").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Why here")).to_be_visible()
    tab_to(page, "Pin it for all later plans")
    page.keyboard.press("Enter")
    steps.done(page, "Pinned")
    assert Pin.objects.count() == 1
    expect(seat_line(page, steps.PEOPLE[0])).to_contain_text("pinned")


def test_the_same_journey_without_any_script(open_context, worker) -> None:
    page = open_context(size=(360, 740), java_script_enabled=False).new_page()
    steps.sign_in_by_page(page, factories.leader().username)
    set_up(page, people=steps.PEOPLE[:3], hides=steps.HIDES[:2])
    steps.plan(page)

    def is_made() -> bool:
        steps.follow(page, "Look again")
        return page.get_by_role("link", name="Open rota 1").count() > 0

    page_until(page, is_made, within_s=150, what="rota 1 is made")
    steps.follow(page, "Open rota 1")
    open_rota(page, 1)
    rota = Rota.objects.get()
    turn = rota.turns.filter(place__isnull=False).select_related("session", "place__participant", "hide").first()
    name = turn.place.participant.name
    seat_line(page, name).get_by_role("link").click()
    steps.follow(page, "Move, swap or rest")
    others = rota.turns.filter(session=turn.session, place__isnull=False).exclude(hide=turn.hide)
    other = others.select_related("place__participant").first()
    page.get_by_label("Change places with somebody").check()
    page.get_by_label("Change places with", exact=True).select_option(label=other.place.participant.name)
    steps.press(page, "Show the effect")
    expect(page.get_by_role("heading", name="What this would do")).to_be_visible()
    steps.press(page, "Do it")
    steps.done(page, "Changed.")
    assert rota.turns.get(session=turn.session, place=turn.place).seat_id == other.seat_id
    steps.press(page, "Undo this change")
    steps.done(page, "Undone.")
    issue(page)
    own_page_says(open_context, turn.place.participant, turn.hide.name)


def test_an_impossible_trip_is_explained_and_mended_by_a_press(open_context, worker) -> None:
    leader = factories.leader()
    trip = factories.trip(leader=leader)
    for hide in ("Alder", "Birch"):
        factories.hide(site=trip.sites.get(), name=hide)
    for name in (*steps.PEOPLE, "Ela Sørensen"):
        factories.place(trip=trip, participant=factories.participant(leader=leader, name=name))
    first = steps.first_day()
    for index in range(2):
        session = factories.session(trip=trip, index=index)
        session.starts_at, session.ends_at = (
            moment.replace(year=first.year) for moment in (session.starts_at, session.ends_at)
        )
        session.save()
    page = open_context(user=leader).new_page()
    page.goto(f"/trips/{trip.uuid}/")
    steps.plan(page)
    expect(page.get_by_role("heading", name="No rota keeps all the rules")).to_be_visible(timeout=steps.RUN_MS)
    expect(page.locator("#making")).to_contain_text("5 people, 4 seats, 1 short")
    page.locator(".remedies").get_by_role("button", name="rest", exact=False).first.click()
    page.wait_for_url("**/rota/1/", timeout=steps.RUN_MS)
    open_rota(page, 1)
    expect(page.get_by_role("main")).to_contain_text("rests")
    assert Rota.objects.get().rests.count() == 2


def test_a_run_that_is_stopped_keeps_its_best_rota_and_says_so(open_context, worker) -> None:
    trip = estate(people=14, seats=(4, 4, 4, 4), sessions=14)  # a thorough run takes far longer than this test
    page = open_context(user=trip.leader).new_page()
    page.goto(f"/trips/{trip.uuid}/")
    steps.plan(page, search_time="thorough")
    expect(page.locator("#making")).to_contain_text("Lowest fair share found", timeout=steps.RUN_MS)
    page.goto("/trips/")  # leaving and coming back loses nothing
    page.goto(f"/trips/{trip.uuid}/rota/")
    steps.press(page, "Take it now")
    page.wait_for_url("**/rota/1/", timeout=steps.RUN_MS)
    expect(page.get_by_role("heading", level=1)).to_contain_text("stopped early")
    assert Rota.objects.get().result["status"] == "stopped_early"
