"""A participant's days: where do I sit, when do I leave, what do I carry, what do I set."""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import Http404, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from participants.access import PersonRequest, own_page, person_page
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.models import Participant
from participants.queued import filled_at, form_errors, form_taken, is_queued
from trips.documents.days import DayPage, DaysPage, SessionPage
from trips.documents.meals import DayMeals
from trips.documents.now_card import NowCard, next_meal, now_cards
from trips.documents.wording.changes import change_sentence
from trips.forms.my import ReadForm
from trips.models import Place
from trips.selectors import my
from trips.selectors.day_notices import day_sentence
from trips.selectors.gear import gear_digest, pieces_of
from trips.selectors.meal import meals_by_day
from trips.selectors.person import missing_of, trip_zone
from trips.selectors.trip import leaders_reached
from trips.services.notices import notices_read
from trips.views.my_place import place_filled, place_shown

# What pages of a pack load beyond the page on which the pack is asked for, and every script with what it imports.
PACK_STYLES = ("trips/gear.css", "trips/light.css")
PACK_MODULES = (
    "trips/head_only.js",
    "participants/colours.js",
    "participants/copy.js",
    "participants/device.js",
    "participants/early_press.js",
    "participants/filled_form.js",
    "participants/form_store.js",
    "participants/install.js",
    "participants/my_page.js",
    "participants/offline.js",
    "participants/packing.js",
    "participants/parts.js",
    "participants/phone.js",
    "participants/phone_clock.js",
    "participants/phone_forms.js",
    "participants/queue.js",
    "participants/share_position.js",
    "participants/sign_out.js",
    "participants/votes.js",
    "participants/waiting.js",
    "participants/waiting_lines.js",
    "participants/words.js",
)


@require_safe
@person_page
def my_start(request: PersonRequest) -> HttpResponse:
    """The person's trips, or at once the days of the only one."""
    places = my.places_of(request.person, typed_by=request.typed_by)
    if len(places) == 1:
        return redirect("trips:my-days", person_uuid=request.person.uuid)
    return render(request, "trips/my_start.html", {"places": places, "current": place_shown(request)})


@require_safe
@person_page
def my_days(request: PersonRequest) -> HttpResponse:
    """The next turn first, then every day; what changed stays marked until it is read."""
    now = timezone.now()
    place = place_shown(request)
    if place is None:
        return redirect("trips:my-start", person_uuid=request.person.uuid)
    days = my.my_days(place, now)
    meals = () if days.left else meals_by_day(place.trip)
    return render(request, "trips/my_days.html", _days_context(days, meals, now))


@require_POST
@own_page
def my_days_read(request: PersonRequest) -> HttpResponse:
    """The person has read what changed, up to the issue that the page showed."""
    place, form = place_filled(request), ReadForm(request.POST)
    if place is None:
        raise Http404("no trip")
    days = reverse("trips:my-days", args=[request.person.uuid], query=request.GET or None)
    if form.is_valid():
        at = filled_at(request, timezone.now())
        shown = form.cleaned_data
        notices_read(place=place, issue_uuid=shown["issue"], at=at, day_uuid=shown["day"])
        return form_taken(request, _("Your leader sees that you have read it."), days)
    if is_queued(request):
        return JsonResponse({"taken": False, "errors": form_errors(form)})
    return redirect(days)


@require_safe
@person_page
def my_drawing(request: PersonRequest, session_uuid: UUID, number: int) -> HttpResponse:
    """The seat's drawing of a turn, to be put into the page or opened alone."""
    place = place_shown(request)
    issued = my.issued_page(place) if place and place.photographs else None
    drawing = ""
    if place and issued:
        units = place.participant.units
        drawing = my.issued_drawing(issued, session_key=str(session_uuid), number=number, units=units)
    if not drawing:
        raise Http404("no such drawing")
    return HttpResponse(drawing, content_type="image/svg+xml; charset=utf-8")


@never_cache
@require_safe
@own_page
def my_pack(request: PersonRequest) -> HttpResponse:
    """What a device may keep for the time without a network, with a fresh form token and the right time."""
    now = timezone.now()
    place = my.place_of(request.person, typed_by=None, today=now.date())
    pieces = pieces_of(request.person)
    names = ("my-days", "my-briefing", "my-wishes", "my-details", "my-message", "my-calendar")
    paths = [reverse(f"trips:{name}", args=[request.person.uuid]) for name in names]
    issued = my.my_days(place, now).issued if place else None
    if place and issued:
        paths += [reverse("trips:my-briefing-file", args=[request.person.uuid]), *_drawings(place, issued)]
    paths += _gear_pages(request.person, pieces) if request.brings_gear else []
    facts = {
        "person": str(request.person.uuid),
        "edition": request.edition,
        "paths": paths,
        "gear": gear_digest(pieces),
    }
    facts["trip"] = str(place.trip.uuid) if place else ""
    facts["assets"] = [static(name) for name in PACK_STYLES + PACK_MODULES]
    return JsonResponse(facts | {"csrf": get_token(request), "now": now.isoformat()})


def _gear_pages(person: Participant, pieces: dict[str, list[Any]]) -> list[str]:
    """The list of gear, and the page of every form of it."""
    names = ("gear-show", "packing-show", "gear-picture", "picture-save")
    paths = [reverse(f"trips:{name}", args=[person.uuid]) for name in names]
    paths += [reverse("trips:piece-new", args=[person.uuid, kind]) for kind in pieces]
    return paths + [
        reverse(f"trips:{name}", args=[person.uuid, kind, piece.uuid])
        for kind, found in pieces.items()
        for piece in found
        for name in ("piece-edit", "piece-remove")
    ]


def _drawings(place: Place, issued: my.IssuedPage) -> list[str]:
    """The addresses of all drawings of a person's turns."""
    if not place.photographs:
        return []
    return [
        reverse("trips:my-drawing", args=[place.participant.uuid, session.key, view.number])
        for session in issued.page.sessions
        if session.turn
        for view in session.turn.views
    ]


def _days_context(days: my.MyDays, meals: tuple[DayMeals, ...], now: datetime) -> dict[str, Any]:
    """What the page reads: words are made as it is drawn, in the person's units."""
    place, units = days.place, days.place.participant.units
    context = {"place": place, "days": days, "person": place.participant, "meals": meals, "units": units, "now": now}
    context["leaders"] = leaders_reached(place.trip)
    if days.issued is None:
        begins = datetime.combine(place.trip.starts_on, time(), tzinfo=ZoneInfo(trip_zone(place.trip)))
        return context | {"begins": begins, "missing": _missing(place)}
    page = days.issued.page
    cards = now_cards(page, units, days.names, days.news.changes, now)
    ahead = next((one for one in page.sessions if one.ends_at > now and one.turn), None)
    first = min((one.starts_at for one in page.sessions), default=now)
    over = all(one.ends_at <= now for one in page.sessions)
    return context | {
        "page": page,
        "next": cards[ahead.key] if ahead else None,
        "next_drawing": _next_drawing(days.issued, ahead, units) if ahead else "",
        "next_meal": next_meal(meals, now, cards[ahead.key].leaves_at) if ahead else "",
        "missing": _missing(place) if now < first and not days.left else (),
        "over": over,
        "arrivals": my.arrivals_seen(page) if over else (),
        "by_day": _by_day(page, meals, cards),
        "changed": days.changed,
        "today": [day_sentence(one) for one in days.today],
        "news": [change_sentence(one, units) for one in days.news.changes],
    }


# What may be missing of a person, with what they call it and the page where they fill it in.
FILLED_IN = {
    "no body": (noted("your camera"), "trips:gear-show"),
    "no lens": (noted("your lenses"), "trips:gear-show"),
    "no votes spent": (noted("your votes"), "trips:my-wishes"),
    "no emergency contact": (noted("an emergency contact"), "trips:my-details"),
}


def _missing(place: Place) -> list[tuple[str, str]]:
    """(what, address) of all that the person has still to fill in."""
    asked = [FILLED_IN[one] for one in missing_of(place) if one in FILLED_IN]
    return [(_(words), reverse(name, args=[place.participant.uuid])) for words, name in asked]


def _next_drawing(issued: my.IssuedPage, session: SessionPage, units: str) -> str:
    """The seat's drawing for the view with the best light of the next turn: there as soon as the turn is opened."""
    views = session.turn.views if session.turn else ()
    if not views:
        return ""
    return mark_safe(my.issued_drawing(issued, session_key=session.key, number=views[0].number, units=units))


@dataclass
class Day:
    """One day of a person: its sun, its meals, and its sessions by the day they begin, with the card of each turn."""

    day: date
    sun: DayPage | None
    meals: DayMeals | None
    sessions: list[tuple[SessionPage, NowCard | None]] = field(default_factory=list)


def _by_day(page: DaysPage, meals: tuple[DayMeals, ...], cards: dict[str, NowCard]) -> list[Day]:
    """Every day that has a session or a meal."""
    suns, eaten = {sun.day: sun for sun in page.days}, {one.day: one for one in meals}
    wanted = sorted({one.starts_at.date() for one in page.sessions} | eaten.keys())
    found = {day: Day(day, suns.get(day), eaten.get(day)) for day in wanted}
    for one in page.sessions:
        found[one.starts_at.date()].sessions.append((one, cards.get(one.key)))
    return list(found.values())
