"""Reach as people read it: for one person all hides, for the leader all people by all views, and what to lend."""

from dataclasses import dataclass

from participants.core.kit import Kit
from trips.core.access import access
from trips.core.reach import HideReach, Offer, Reach, ViewReach, hide_reach, what_would_help
from trips.core.values import Hide, Limit, ReachSettings, Subject, View, Wishes
from trips.documents.wording.reach import (
    access_sentence,
    assumed_sentences,
    focal_words,
    help_sentence,
    reach_sentence,
    set_words,
    verdict_level,
    verdict_words,
    warning_sentence,
)

NO_GEAR = Kit()


@dataclass(frozen=True, slots=True)
class Person:
    """Who asks: their gear, wishes, limits and the units they read."""

    key: str
    name: str
    kit: Kit
    wishes: Wishes
    limits: tuple[Limit, ...] = ()
    units: str = "metric"


@dataclass(frozen=True, slots=True)
class SubjectLine:
    """One subject in a view; `key` empty for the distance alone."""

    key: str
    subject: str
    verdict: str
    words: str
    level: str
    sentence: str
    reach: Reach


@dataclass(frozen=True, slots=True)
class ViewLine:
    """One view: the subject that matters most there first, the others behind it."""

    key: str
    name: str
    main: SubjectLine
    others: tuple[SubjectLine, ...]
    gear: str
    gear_short: str
    warnings: tuple[str, ...]
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HideLine:
    """One hide for one person."""

    key: str
    name: str
    views: tuple[ViewLine, ...]
    access: str
    closed: bool
    fault: bool


@dataclass(frozen=True, slots=True)
class Loan:
    """What would help one person in one view; `spare`: whether somebody on the trip has it to lend."""

    person: str
    hide: str
    view: str
    now: str
    level: str
    helps: tuple[str, ...]
    spare: bool


@dataclass(frozen=True, slots=True)
class Lender:
    """A piece that can be lent: the person's key and name."""

    piece: str
    person: str
    name: str


@dataclass(frozen=True, slots=True)
class Scene:
    """What a trip offers everybody: hides, subjects, the bands of the verdicts, and what can be lent."""

    hides: tuple[Hide, ...]
    subjects: tuple[Subject, ...]
    settings: ReachSettings
    spare: Kit = NO_GEAR
    lenders: tuple[Lender, ...] = ()


def weight_of(subject: str, hide: Hide, wishes: Wishes) -> tuple[float, float]:
    """How much a subject matters to a person in a hide: marks x chance, then the chance."""
    chance = next((one for one in hide.chances if one.subject == subject), None)
    best = max(chance.early, chance.midday, chance.late, chance.night) if chance else 0.0
    return dict(wishes.marks).get(subject, 0) * best, best


def _subject_line(row: ViewReach, names: dict[str, str], units: str) -> SubjectLine:
    name = names.get(row.subject or "", "")
    verdict = row.reach.verdict
    sentence = reach_sentence(row.reach, name, units)
    return SubjectLine(
        row.subject or "", name, verdict, verdict_words(verdict), verdict_level(verdict), sentence, row.reach
    )


def _view_line(view: View, rows: list[ViewReach], names: dict[str, str], units: str) -> ViewLine:
    lines = [_subject_line(row, names, units) for row in rows]
    best = lines[0].reach.best
    remarks = dict.fromkeys(remark for row in rows for remark in row.reach.warnings)
    guesses = tuple(name for row in rows for name in row.reach.assumed)
    return ViewLine(
        key=view.key,
        name=view.name,
        main=lines[0],
        others=tuple(lines[1:]),
        gear=set_words(best) if best else "",
        gear_short=focal_words(best) if best else "",
        warnings=tuple(warning_sentence(remark, units) for remark in remarks),
        assumed=assumed_sentences(guesses),
    )


def _rows_of(found: HideReach, view: View, hide: Hide, wishes: Wishes) -> list[ViewReach]:
    """A view's rows, what matters most to the person first."""
    return sorted(
        found.in_view(view.key), key=lambda row: [-part for part in weight_of(row.subject or "", hide, wishes)]
    )


def hide_line(person: Person, hide: Hide, scene: Scene) -> HideLine:
    """One hide for one person: every view, and what stands against getting there."""
    found = hide_reach(person.kit, hide, scene.subjects, person.wishes, scene.settings)
    names = {subject.key: subject.name for subject in scene.subjects}
    there = access(person.limits, hide)
    views = tuple(
        _view_line(view, _rows_of(found, view, hide, person.wishes), names, person.units) for view in hide.views
    )
    words = access_sentence(there, hide.name, person.units)
    return HideLine(hide.key, hide.name, views, words, not there.open, found.fault)


def hide_lines(person: Person, scene: Scene) -> tuple[HideLine, ...]:
    """All hides for one person, in the scene's order."""
    return tuple(hide_line(person, hide, scene) for hide in scene.hides)


def loans(person: Person, lines: tuple[HideLine, ...], scene: Scene) -> tuple[Loan, ...]:
    """What would help a person wherever the subject that matters most is not good; nothing for an empty kit."""
    if not person.kit.bodies or not person.kit.lenses:
        return ()
    lenders = {one.piece: one.name for one in scene.lenders if one.person != person.key}
    others = _only(scene.spare, set(lenders))
    subjects = {subject.key: subject for subject in scene.subjects}
    found = []
    for hide, line in zip(scene.hides, lines, strict=True):
        for view, seen in zip(hide.views, line.views, strict=True):
            if seen.main.verdict == "good":
                continue
            offer, subject = Offer(others, hide.views), subjects.get(seen.main.key)
            helps = what_would_help(person.kit, view, subject, person.wishes.output, scene.settings, offer)
            words = tuple(help_sentence(one, lenders.get(one.key, "") if one.spare else "") for one in helps)
            now = f"{seen.main.subject}: {seen.main.words}" if seen.main.subject else seen.main.words
            lent = any(one.spare for one in helps)
            found.append(Loan(person.name, hide.name, view.name, now, seen.main.level, words, lent))
    return tuple(found)


def _only(kit: Kit, keys: set[str]) -> Kit:
    """The pieces of a kit that go on a body and whose keys are among these."""
    return Kit(
        lenses=tuple(one for one in kit.lenses if one.key in keys),
        converters=tuple(one for one in kit.converters if one.key in keys),
        tubes=tuple(one for one in kit.tubes if one.key in keys),
    )
