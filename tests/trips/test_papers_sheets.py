"""Each paper as people get it, printed from invented values and read back."""

from dataclasses import replace

import pytest

from tests.trips import paper_values as values
from tests.trips.paper_reading import one_line, page_texts, reader, text_of, words
from trips.documents.briefing_pages import best_lens, best_light
from trips.documents.quantities import Fact, fact
from trips.documents.safety import take_care
from trips.documents.scripts import PaperFailed
from trips.documents.wording.days import leave_words, ready_day
from trips.documents.wording.papers import paper_fault
from trips.services import print_jobs
from trips.services.pdf import job_pdf


def pages_of(briefing, size: str = "A4") -> list[str]:
    return [one_line(text) for text in page_texts(job_pdf(print_jobs.briefing_job(briefing, size)))]


@pytest.fixture(scope="module")
def pages(briefing_pdf) -> list[str]:
    return [one_line(text) for text in page_texts(briefing_pdf)]


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_twelve_turns_stand_on_the_first_page(size):
    turns = tuple(values.turn(number) for number in range(12))
    assert pages_of(values.briefing(turns, cards=()), size)[0].count("seated") == 12


def test_more_turns_than_four_pages_hold_are_printed_all_the_same():
    pages = pages_of(values.briefing(sessions=tuple(values.turn(number) for number in range(20))))
    text = " ".join(pages)
    assert len(pages) > 4
    assert all(f"{ready_day(one)}, {one.kind}: " in text for one in map(values.turn, range(20)))


def test_the_first_page_holds_every_turn(pages):
    for session in map(values.turn, range(8)):
        turn = session.turn
        for text in (ready_day(session), leave_words(turn.call), turn.where, best_light(turn), best_lens(turn)):
            assert text in pages[0]
    assert pages[0].count("06:06") == 4
    assert "Rest" in pages[0]
    assert "the track to Dehesa tower is closed" in pages[0]


def test_times_on_paper_are_local_and_say_their_zone(pages):
    assert "06:45–10:45" in pages[0]
    assert "clock of Europe/Madrid" in pages[0]
    assert "Be at the cars five minutes before they leave the lodge." in pages[0]
    assert "04:45" not in " ".join(pages)


def test_every_page_says_which_rota_and_a_draft_when_it_was_made(pages):
    for number, page in enumerate(pages, 1):
        assert "rota 3, issued" in page
        assert f"page {number} of {len(pages)}" in page
    draft = values.briefing(head=values.head(draft=True, rota="rota 4, draft"), sessions=(values.turn(0),))
    assert all("rota 4, draft · made 7 May 2027 19:05 Europe/Madrid" in page for page in pages_of(draft))


def test_people_are_told_not_to_rely_on_a_calendar_the_same_day(pages):
    assert "A calendar on a phone can lag by a day." in pages[0]


def test_a_draft_says_so_at_once():
    draft = values.briefing(head=values.head(draft=True, rota="rota 4, draft"), sessions=(values.turn(0),))
    assert "DRAFT: not issued, may change" in pages_of(draft)[0]


def test_a_card_tells_what_to_set_and_what_is_in_the_frame(pages):
    text = " ".join(pages)
    for wanted in (
        "Looks towards 250° (WSW), perch 6 m, near edge of the water 4.5 m.", "European bee-eater", "62 %",
        "07:06", "1/125 f/4 ISO 6400", "1/2000 f/5.6 ISO 1600", "too dark", "10:45", "+1",
        "Focus continuous: one point on the eye. For flight, focus with a group of points.",
        "Depth of field with 600 mm × 1.4: 11 cm",
        "are inside the near limit of 5.2 m", "Carry 600 mm f/4, 1.4× converter.", "Inés in the right seat",
        "No flash at any time.",
    ):  # fmt: skip
        assert wanted in text


def test_the_groups_sheet_has_every_caution_with_its_source_and_the_manners():
    text = one_line(text_of(job_pdf(print_jobs.take_care(take_care(values.head(title="Take care"))))))
    assert "reminders, not permission or advice" in text
    for title in ("Heat", "Lightning", "Snakes", "Ticks", "Heater fumes", "Alone in a hide", "Hunting land"):
        assert f"{title}." in text
    assert "Snakes: World Health Organization" in text
    assert "common practice, no source" in text
    for title in ("Talk.", "Phone.", "Lens movement.", "Bags.", "One bag a seat", "Stepping out.", "Leaving early."):
        assert title in text


def test_the_pack_carries_what_people_need_to_get_there(pages):
    text = " ".join(pages)
    for wanted in (
        "Meeting point: Yard of the lodge", "Map position: 39.50120° N, 6.20340° W", "Sat 8 May 06:49 07:18 21:25",
        "14 to 27 °C", "45 MP full-frame body", "Warm layer", "Hospital: Hospital del Valle", "Emergency number: 112",
        "Phone coverage: good at the lodge", "walk 40 m, 5 steps",
    ):  # fmt: skip
        assert wanted in text


def test_what_is_not_known_is_to_follow_and_never_blank_or_none(pages):
    text = " ".join(pages)
    assert "How to get there: to follow" in text
    assert "Radio: to follow" in text
    call = replace(values.turn(0).turn.call, in_place_at=None)
    window = values.view(values.moment(8, 6, 45), reach=None)
    bare = values.briefing(
        sessions=(values.turn(0, call=call, views=(window,)),),
        arrival=(fact("Meeting point", None), fact("Map position", "  ")),
        emergency=(fact("Emergency number", ""),),
        site_facts=(fact("Hazards", None),),
    )
    text = " ".join(pages_of(bare))
    assert text.count("to follow") >= 6
    assert "None" not in text


def test_a_briefing_has_the_cautions_that_do_not_hold_for_everybody(pages):
    text = " ".join(pages[-2:])
    assert "at the lodge has the rest, with sources and manners. Local law, the land owner and the licence" in text
    assert all(f"{title}." in text for title in ("Heat", "Heater fumes", "Ladders and towers", "Alone in a hide"))
    assert "Ticks." not in text


def test_no_turns_at_all_still_make_a_good_paper():
    pages = pages_of(values.briefing(sessions=(), hides=(), packing=(), days=()))
    assert "You have no turns in this rota." in pages[0]
    assert "Emergency" in " ".join(pages)


def test_a_note_of_eighty_lines_and_a_name_of_two_hundred_letters():
    note = "\n".join(f"line {number} of the note" for number in range(80))
    long_name = "Wilhelmine" * 20
    briefing = values.briefing(
        person=long_name,
        sessions=(values.turn(0, hide=long_name, cautions=note),),
        site_facts=(Fact("Hazards", note),),
    )
    pdf = job_pdf(print_jobs.briefing_job(briefing))
    text = text_of(pdf)
    assert "".join(text.split()).count(long_name) >= 2
    assert all(f"line {number} of the note" in text for number in range(80))
    for page in words(pdf):
        assert all(13 <= left < right <= 595 - 33 for _, left, _, right, _ in page)


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_long_name_in_the_foot_keeps_clear_of_the_page_number(size):
    long_name = "Wilhelmine" * 20
    briefing = values.briefing(person=long_name, head=values.head(trip=long_name), sessions=(values.turn(0),))
    pages = words(job_pdf(print_jobs.briefing_job(briefing, size)))
    width, height = (595, 842) if size == "A4" else (612, 792)
    for page in pages:
        number_left, number_top = max(
            ((left, top) for text, left, top, *_ in page if text == "page"), key=lambda one: one[1]
        )
        foot = [one for one in page if one[2] > number_top - 1 and one[1] < number_left - 1]
        assert foot
        assert all(right < number_left and bottom < height for _, _, _, right, bottom in foot)
        assert all(right <= width - 31 for _, _, _, right, _ in page)


def test_no_day_stands_alone_at_the_end_of_a_page():
    turns = tuple(values.turn(2 * number) for number in range(23))
    for extra in range(2):
        rests = tuple(values.rest(1) for _ in range(extra))
        briefing = values.briefing((*rests, *turns), cards=(), days=())
        for page in words(job_pdf(print_jobs.briefing_job(briefing))):
            bars = [top for text, left, top, *_ in page if text in ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")]
            hides = [top for text, left, top, *_ in page if text == "seated"]
            if bars and hides:
                assert max(bars) < max(hides)


def test_the_owners_sheet_is_one_page_with_all_it_needs():
    pdf = job_pdf(print_jobs.owner_sheet(values.owner_sheet()))
    (page,) = page_texts(pdf)
    text = one_line(page)
    for wanted in (
        "Total 6", "rota 3, issued", "left: Person 0", "right: Guest 3", "seated 06:48", "fetched 10:30–10:45",
        "Car 1, 0000 BCD, leaves 06:01", "Seed on the left perch", "Last time for changes: 20:00 the evening before",
        "Seen and confirmed by the owner (rota 3, issued)", "Elm: track closed", "6 people",
    ):  # fmt: skip
        assert wanted in text


@pytest.mark.parametrize("hides", [12, 16])
def test_the_owners_sheet_shrinks_before_it_runs_over(hides):
    assert len(page_texts(job_pdf(print_jobs.owner_sheet(values.owner_sheet(hides))))) == 1


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_hides_tasks_stand_once_on_the_day_and_may_be_long(size):
    tasks = "\n".join(f"task {number} of the morning" for number in range(20))
    sheet = values.owner_sheet()
    first, *others = sheet.sessions[0].hides
    sessions = tuple(replace(one, hides=(replace(first, tasks=tasks), *others)) for one in sheet.sessions)
    (page,) = page_texts(job_pdf(print_jobs.owner_sheet(replace(sheet, sessions=sessions), size)))
    assert all(page.count(f"task {number} of") == 1 for number in range(20))
    assert page.count("Seed on the left perch") == 3
    assert "Hide 1 (Early, Late): task 0" in page


def test_an_owners_sheet_that_cannot_fit_is_refused_in_a_sentence_that_names_it():
    with pytest.raises(PaperFailed) as refused:
        job_pdf(print_jobs.owner_sheet(values.owner_sheet(30)))
    assert "The owner's sheet of Saturday 8 May, Dehesa del Valle has to fit on one page" in paper_fault(refused.value)
    sheet = values.owner_sheet()
    alder = replace(sheet.sessions[0].hides[0], name="Alder", tasks="task\n" * 200)
    sheet = replace(sheet, sessions=(replace(sheet.sessions[0], hides=(alder, *sheet.sessions[0].hides)),))
    with pytest.raises(PaperFailed) as refused:
        job_pdf(print_jobs.owner_sheet(sheet))
    assert "Saturday 8 May, Dehesa del Valle (most of it: tasks in Alder)" in paper_fault(refused.value)


def test_the_day_sheet_has_cars_seats_and_boxes_to_tick():
    text = one_line(text_of(job_pdf(print_jobs.day_sheet(values.day_sheet()))))
    for wanted in (
        "Saturday 8 May", "06:01", "0000 BCD", "Birch (20 min): Person 3", "1 person too many for this car",
        "06:31 Birch (20 min)", "Closed or on conditions: Elm: track closed", "Forecast: 14 °C to 27 °C",
        "Rather not: Person 1, Alder: 5 steps", "Berta: 600 111 222", "Alder, left Person 1",
        "Rest: Person 8: the track is closed",
        "Alder 10:30–10:45 (light still front, ask first)",
        "Owner: to follow",
    ):  # fmt: skip
        assert wanted in text
    assert text.count("☐") == 2 * 2 * 7


def test_a_day_without_a_session_still_makes_a_sheet():
    assert "No session on this day." in text_of(job_pdf(print_jobs.day_sheet(values.day_sheet(sessions=()))))


def test_an_address_too_long_for_a_code_is_a_sentence():
    with pytest.raises(PaperFailed) as refused:
        print_jobs.briefing_job(values.briefing(page_url=f"https://hides.example.org/{'a' * 4000}"))
    assert "too long for a QR code. Shorten PUBLIC_URL." in paper_fault(refused.value)
    assert len(paper_fault(refused.value)) < 200


def test_the_sessions_of_a_day_follow_one_another_without_a_gap():
    sheet = values.day_sheet(10, facts=(), phones=())
    sheet = replace(sheet, sessions=(*sheet.sessions, replace(sheet.sessions[0], name="Night")))
    pages = words(job_pdf(print_jobs.day_sheet(sheet)))
    assert len(pages) == 2
    assert max(bottom for text, *_, bottom in pages[0] if text == "☐") > 700


def test_the_door_card_tells_where_people_are():
    text = one_line(text_of(job_pdf(print_jobs.door_card(values.door_card()))))
    for wanted in (
        "Alder",
        "Call 112",
        "Phone coverage: one bar on the dam",
        "You are at: 39.50310° N, 6.19870° W",
        "Rescue point: gate 4",
        "Step at the door.",
    ):
        assert wanted in text


def test_the_gear_table_tells_energy_and_what_is_unknown():
    text = one_line(text_of(job_pdf(print_jobs.gear_table(values.gear_table(3)))))
    for wanted in (
        "600 mm f/4, near limit 5.2 m",
        "near limit to follow",
        "3 × 7.4 V 2.28 Ah (17 Wh)",
        "1.4×",
        "bean bag",
        "no tripod: Elm",
        "ISO up to 12800",
        "Could be lent Person 1: tripod, for Person 2",
    ):
        assert wanted in text


def test_the_registration_form_asks_everything_in_large_print():
    pdf = job_pdf(print_jobs.registration_form(values.registration_form()))
    text = one_line(text_of(pdf))
    for wanted in ("Marta Olmedo", "Emergency contact", "Hoopoe", "six votes", "☐ stoop", "Spare batteries"):
        assert wanted in text
    sizes: list[float] = []

    def note_size(text, _cm, matrix, _font, size):
        if "Emergency contact" in text:
            sizes.append(size * abs(matrix[3]))

    for page in reader(pdf).pages:
        page.extract_text(visitor_text=note_size)
    assert sizes
    assert min(sizes) >= 16
    assert len(reader(pdf).pages) <= 4
