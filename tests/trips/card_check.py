"""Every line of every card of a rota, worked out again from the rows through the core, set by set.

It uses nothing of what assembles the cards: rows become values here, and exposures, stretches, fills and depths are
worked out from the optics, the light and the heat of the core. `script/card_check` prints it for the demo trip.
"""

import math
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, fields
from datetime import timedelta
from io import StringIO
from zoneinfo import ZoneInfo

from django.core.management import call_command
from django.utils import timezone

from participants.core import gear as gear_values
from participants.core.optics import (
    circle_mm,
    close_up_loss_stops,
    depth_of_field_mm,
    effective_focal_mm,
    focus_range_mm,
    magnification,
    stopped_down,
    zoom_magnification,
)
from trips.core import values as core
from trips.core.advice import SPEED_M_S, iso_needed, longest_shutter_s, marked_shutter
from trips.core.heat import session_heat, water_for
from trips.core.light import session_light
from trips.core.reach import GearSet, pixels_needed
from trips.documents.days import SessionPage, ViewPage, page_of
from trips.models import Issue, Rota, Turn
from trips.services.demo import demo_load
from trips.services.rota import rota_issue

GLASS_STOPS = 1.5  # as the hide's page says where nobody measured it
SIXTH = 2.0 ** (1 / 6)
HELD_STOPS = {"tripod": 3.0, "bean_bag": 7 / 3, "clamp": 2.0, "monopod": 1.0}
TONES = {"light": 1.0, "middle": 0.0, "dark": -1.0}


@dataclass(frozen=True)
class CardLine:
    """One line of a card: whose, what, what the card has and what the rows give."""

    card: str
    line: str
    printed: str
    expected: str

    @property
    def differs(self) -> bool:
        return self.printed != self.expected


def card_lines(rota: Rota, pages: dict) -> Iterator[CardLine]:
    """All lines of the cards of those people. `pages`: their days pages by place uuid, as made or as issued."""
    turns = rota.turns.filter(place__photographs=True, place__uuid__in=pages).select_related(
        "session__site", "place__participant", "hide"
    )
    for turn in turns.order_by("session", "place"):
        page = pages[str(turn.place.uuid)].session(str(turn.session.uuid))
        name = f"{turn.place.participant.name}, {turn.session}, {turn.hide}"
        for line, printed, expected in _turn_lines(turn, page):
            yield CardLine(name, line, printed, expected)


def _copied(kind, row, **more):
    """A value of the core from the columns of the same names."""
    given = {one.name: getattr(row, one.name) for one in fields(kind) if hasattr(row, one.name)}
    return kind(**({name: value for name, value in given.items() if not hasattr(value, "all")} | more))


def _view(row):
    loss = row.glass_loss_stops if row.glass_loss_stops is not None else GLASS_STOPS * row.glass
    horizon = tuple((float(azimuth), float(height)) for azimuth, height in row.horizon)
    return _copied(
        core.View,
        row,
        key=str(row.uuid),
        glass_loss_stops=loss,
        horizon=horizon,
        perch_height_m=row.perch_height_m or 0.0,
    )


def _hide(row):
    where = row if row.latitude_deg is not None else row.site
    point = core.Point(where.latitude_deg, where.longitude_deg, row.site.elevation_m, row.site.time_zone)
    views = tuple(_view(view) for view in row.views.all())
    return _copied(
        core.Hide, row, key=str(row.uuid), point=point, views=views, seats=(), chances=(), width_m=row.width_m or 3.0
    )


def _session(turn: Turn):
    row, zone = turn.session, ZoneInfo(turn.session.site.time_zone)
    own = row.session_hides.filter(hide=turn.hide).first()
    forecast = tuple(core.HourForecast(one.hour, one.air_c, one.humidity_pct) for one in row.forecasts.all())
    starts_at = (own and own.starts_at) or row.starts_at
    ends_at = (own and own.ends_at) or row.ends_at
    hours = {"starts_at": starts_at.astimezone(zone), "ends_at": ends_at.astimezone(zone)}
    return _copied(core.Session, row, key=str(row.uuid), forecast=forecast, **hours)


def _turn_lines(turn: Turn, page: SessionPage) -> Iterator[tuple[str, str, str]]:
    hide, session = _hide(turn.hide), _session(turn)
    yield "sky", page.sky, turn.session.sky
    heat = session_heat(hide, session, turn.session.trip.rules.heat_limit_c)
    told = page.turn.heat
    litres = water_for(heat.moments, session.starts_at, session.ends_at)
    yield "water", f"{told.water_l} {told.bottles}", f"{litres[0]} {litres[1]}"
    worst = max((moment.hide_c for moment in heat.moments), default=None)
    yield "heat", f"{told.tier} {told.worst_hide_c}", f"{heat.tier} {worst}"
    found = session_light(hide, session, turn.place.light_wish or "front")
    best = max(found.views, key=lambda light: light.score)
    yield "best view", page.turn.views[0].name, best.view.name
    for view in page.turn.views:
        light = next(one for one in found.views if one.view.name == view.name)
        yield "light", _stretches(view.light), _stretches(light.on_perch)
        notices = [f"{one.kind} {one.starts_at:%H:%M}" for one in light.cautions if one.kind != "class_changes"]
        yield (
            "warnings",
            str([f"{one.kind} {one.starts_at:%H:%M}" for one in view.notices]),
            str(
                [one for one in notices if not one.startswith("sun_in_frame")]
                + [f"{one.kind} {one.starts_at:%H:%M}" for one in view.notices if one.kind == "sun_in_frame"]
            ),
        )
        if view.reach and view.reach.best:
            yield from _set_lines(turn, view, light)


def _stretches(parts) -> str:
    return ", ".join(f"{part.name} {part.starts_at:%H:%M:%S}-{part.ends_at:%H:%M:%S}" for part in parts)


def _clock(spans) -> str:
    return ", ".join(f"{begun:%H:%M}-{over:%H:%M}" for begun, over in spans)


def _owned(turn: Turn, named: GearSet) -> GearSet:
    """The named set out of the person's own rows and those lent to them for this session."""
    person, starts_at = turn.place.participant, turn.session.starts_at
    away = turn.rota.trip.gear_away.filter(borrower=turn.place, from_at__lte=starts_at)
    lent = [row.piece for row in away if row.until_at is None or row.until_at > starts_at]

    def piece(kind, rows, wanted):
        row = next((row for row in (*rows, *lent) if wanted and str(row.uuid) == wanted.key), None)
        return _copied(kind, row, key=str(row.uuid)) if row else None

    body, lens = (
        piece(gear_values.Body, person.bodies.all(), named.body),
        piece(gear_values.Lens, person.lenses.all(), named.lens),
    )
    converter = piece(gear_values.Converter, person.converters.all(), named.converter)
    return GearSet(body, lens, named.focal_mm, converter, piece(gear_values.Tube, person.tubes.all(), named.tube))


class _Bench:
    """The optics of one set at one view."""

    def __init__(self, gear: GearSet, view) -> None:
        self.gear, lens = gear, gear.lens
        limit = None if lens.near_limit_m is None else lens.near_limit_m * 1000.0
        largest = lens.max_magnification if limit is not None else None
        if largest is not None and gear.focal_mm != lens.focal_max_mm:
            largest = zoom_magnification(gear.focal_mm, lens.focal_max_mm, limit, largest)
        self.close = {"near_limit_mm": limit, "max_magnification": largest}
        extra = {"converter": gear.converter_factor, "tube_mm": gear.tube_mm}
        nearest, farthest = focus_range_mm(gear.focal_mm, limit, max_magnification=largest, **extra)
        self.ends_mm = (max(view.near_m * 1000.0, nearest), min(view.far_m * 1000.0, farthest))
        self.scale = magnification(gear.focal_mm, sum(self.ends_mm) / 2.0, **self.close, **extra)

    def fill(self, subject) -> float:
        fill = 5.0 * (subject.length_min_cm + subject.length_max_cm) * self.scale / self.gear.long_side_mm
        standing = (subject.standing_height_cm or 0.0) * 10.0 * self.scale / self.gear.short_side_mm
        return max(fill, standing)

    def depths(self, f_number: float) -> str:
        factor, body, told = self.gear.converter_factor, self.gear.body, []
        circle = circle_mm(body.sensor_width_mm, body.sensor_height_mm) / factor
        for distance in dict.fromkeys(self.ends_mm):
            focal = effective_focal_mm(self.gear.focal_mm, distance, *self.close.values())
            near, far = depth_of_field_mm(focal, f_number / factor, distance, circle)
            told.append(f"{near / 1000.0:.4f}-{far / 1000.0:.4f}")
        return ", ".join(told)


def _set_lines(turn: Turn, view: ViewPage, light) -> Iterator[tuple[str, str, str]]:
    """Fills, depths, what to carry, and the settings by clock time, all with the named set."""
    gear, subjects = _owned(turn, view.reach.best), {one.name: one for one in turn.session.trip.subjects.all()}
    bench, subject = _Bench(gear, light.view), subjects.get(view.subject)
    for one in view.fills:
        yield f"fill, {one.subject}", f"{one.fill or 0.0:.4f}", f"{bench.fill(subjects[one.subject]):.4f}"
    printed = ", ".join(f"{one.near_m:.4f}-{math.inf if one.far_m is None else one.far_m:.4f}" for one in view.depths)
    yield "depth of field", printed, bench.depths(view.depths[0].f_number)
    pieces = (gear.body, gear.lens, gear.converter, gear.tube)
    yield "carry", ", ".join(view.carry.pieces), ", ".join(one.name for one in pieces if one)
    wide, stops = gear.widest_f_number, 1.0 if gear.converter else 2 / 3
    off = math.log2(view.depths[0].f_number / stopped_down(wide, stops))
    yield "aperture of the depth", str(abs(off) < 1 / 10), "True"
    yield from _clock_lines(turn, view, light, bench, subject)


def _clock_lines(turn, view, light, bench, subject) -> Iterator[tuple[str, str, str]]:
    gear, person = bench.gear, turn.place.participant
    top = gear.body.top_iso or core.AdviceSettings().iso_top_default
    loss = close_up_loss_stops(bench.scale / gear.converter_factor)
    fill = bench.fill(subject) if subject else None
    shown = 1.0 if fill is None else min(1.0, fill / 0.4)
    pixel_mm = gear.long_side_mm * shown * 0.4 / pixels_needed(turn.place.output, core.ReachSettings())
    diagonal = math.hypot(gear.body.sensor_width_mm, gear.body.sensor_height_mm)
    owned = turn.hide.support in {one.kind for one in person.supports.all()}
    held = 2.0 ** (HELD_STOPS[turn.hide.support] if owned else 0.0) * diagonal / 43.267
    rest_s = min(held / (gear.focal_mm * gear.converter_factor), longest_shutter_s(0.1, bench.scale, pixel_mm, 3.0))
    slowest = min(1000, marked_shutter(rest_s))
    evs = {glance.at: (glance.ev100, glance.light) for glance in light.by_minute}

    def can(part: int, ev: float) -> bool:
        return iso_needed(gear.widest_f_number, 1.0 / part, max(ev, -10.0), loss) <= top * SIXTH

    for part in sorted({slowest, 1000, 2000}):
        spans: list[list] = []
        for at, before, after in zip(evs, [None, *evs], [*list(evs)[1:], max(evs)], strict=False):
            if can(part, evs[at][0]):
                spans = spans if before and can(part, evs[before][0]) else [*spans, [at, at, at]]
                spans[-1][1:] = after, at
        expected = [(begun, over) for begun, over, last in spans if (last - begun).total_seconds() >= 300.0]
        printed = [span for step in view.steps for span in step.spans if step.shutter_part == part]
        whole = [[min(evs), max(evs)]]
        yield f"from when 1/{part} s", _clock(printed if view.steps else whole), _clock(expected)
    tone = TONES[subject.tone] if subject else 0.0
    for row in view.rows:
        ev, name = evs[row.at]
        yield f"light at {row.at:%H:%M}", row.light, name
        yield f"dial at {row.at:%H:%M}", f"{row.compensation:g}", f"{tone + (name == 'back'):g}"
        for kind, setting, least in (("still", row.still, slowest), ("moving", row.moving, 2000)):
            line = f"{kind} at {row.at:%H:%M}"
            if setting is None:
                yield line, "too dark", "too dark" if not can(least, ev) else "can be done"
                continue
            needed = iso_needed(setting.f_number, 1.0 / setting.shutter_part, max(ev, -10.0), loss)
            exposed = abs(math.log2(needed / setting.iso)) < 0.45 and setting.iso <= top
            yield f"{line}: exposes", f"{setting}", f"{setting}" if exposed else f"ISO {needed:.0f} of {top}"
            yield f"{line}: shutter", str(setting.shutter_part >= least), "True"
            after = next((one.at for one in view.rows if one.at > row.at), row.at) - timedelta(minutes=3)
            held = [light for at, (light, _) in evs.items() if row.at <= at <= after]
            isos = [iso_needed(setting.f_number, 1.0 / setting.shutter_part, max(light, -10.0), loss) for light in held]
            beyond = [f"ISO {iso:.0f} of {top}" for iso in isos if not 45 <= iso <= 2.2 * top]
            yield f"{line}: holds until the next", ", ".join(beyond), ""
    moving = (subject.speed if subject else "feeding").replace("still", "feeding")
    left = core.AdviceSettings().panning_left if moving == "flight" else 1.0
    computed = longest_shutter_s(SPEED_M_S[moving] * left, bench.scale, pixel_mm, 3.0)
    yield "computed shutter", str(view.moving.computed_part), str(marked_shutter(max(computed, 1 / 4000)))
    yield "focus", view.moving.focus, "group" if moving == "flight" else "single_point"
    yield "end", f"{view.rows[-1].at:%H:%M}", f"{light.session.ends_at:%H:%M}"


def report() -> int:
    """Plan and issue the demo trip, print how many lines were compared and which differ; 1 where any does."""
    call_command("migrate", verbosity=0)
    trip = demo_load().trip
    call_command("plan", str(trip.uuid), "--seed", "1", stdout=StringIO())
    rota_issue(rota=trip.rotas.get(), by=trip.leader, now=timezone.now())
    issue = Issue.objects.get()
    pages = {key: page_of(page) for key, page in issue.pages["people"].items()}
    lines = list(card_lines(issue.rota, pages))
    kinds = Counter(re.split(r" at |, |: | when ", line.line)[0] for line in lines)
    for kind, count in sorted(kinds.items()):
        print(f"{count:6} {kind}")
    wrong = [line for line in lines if line.differs]
    for line in wrong:
        print(f"{line.card}, {line.line}: the card has {line.printed}, the rows give {line.expected}")
    print(f"{len({line.card for line in lines})} cards, {len(lines)} lines, {len(wrong)} differences")
    return 1 if wrong else 0


def seated_by_turns(rota: Rota) -> Rota:
    """Everybody in another seat of another hide in each session, whatever the rules: every kind of card."""
    seats = [seat for hide in rota.trip.sites.get().hides.all() for seat in hide.seats.all()]
    for s, session in enumerate(rota.trip.sessions.all()):
        for p, place in enumerate(rota.trip.places.all()):
            seat = seats[(p + 3 * s) % len(seats)]
            Turn.objects.create(rota=rota, session=session, place=place, hide=seat.hide, seat=seat)
    return rota
