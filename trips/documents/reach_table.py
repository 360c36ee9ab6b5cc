"""Reach as people read it: for one person all hides, for the leader all people by all views, and what to lend."""

from collections import Counter
from dataclasses import dataclass

from participants.core.gear import Gear
from trips.core.access import access
from trips.core.reach import (
    Addition,
    HideReach,
    Offer,
    OneSetReach,
    Reach,
    ViewReach,
    hide_reach,
    what_would_help,
    with_one_set,
)
from trips.core.values import Hide, Limit, ReachSettings, Subject, View, Wishes
from trips.documents.wording.reach import (
    access_sentence,
    assumed_sentences,
    focal_words,
    help_sentence,
    loss_words,
    other_set_words,
    reach_sentence,
    reach_words,
    set_words,
    verdict_level,
    warning_sentence,
)

NO_GEAR = Gear()
MOST_LENDERS = 3  # of one kind of piece: who loses least comes first
FILLS_MUCH = ("tight", "portrait_only")  # a large animal close by: worth no line where nothing would help


@dataclass(frozen=True, slots=True)
class GearOwner:
    """Who asks: their gear, wishes, limits and the units they read."""

    key: str
    name: str
    gear: Gear
    wishes: Wishes
    limits: tuple[Limit, ...] = ()
    units: str = "metric"


@dataclass(frozen=True, slots=True)
class SubjectLine:
    """One subject in a view with the view's set; `key` empty for the distance alone.

    `other_set`: what another set of the same person would do, where it is better.
    """

    key: str
    subject: str
    verdict: str
    words: str
    level: str
    sentence: str
    reach: Reach
    other_set: str = ""


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

    @property
    def good_count(self) -> int:
        """How many of the view's subjects are good."""
        return sum(line.verdict == "good" for line in (self.main, *self.others))

    @property
    def subject_count(self) -> int:
        """How many subjects were judged."""
        return 1 + len(self.others)


@dataclass(frozen=True, slots=True)
class PersonHide:
    """One hide for one person."""

    key: str
    name: str
    views: tuple[ViewLine, ...]
    access: str
    closed: bool
    fault: bool


@dataclass(frozen=True, slots=True)
class LoanHelp:
    """One thing that would help, in a sentence; `piece`: what is lent as "lens:KEY", empty for what nobody lends."""

    words: str
    piece: str = ""


@dataclass(frozen=True, slots=True)
class Loan:
    """What would help one person (`borrower`: their key) in views that lack the same.

    `spare`: whether somebody on the trip has it to lend; `lacks`: the person has no usable lens or body at all.
    """

    person: str
    where: tuple[str, ...]
    now: str
    level: str
    helps: tuple[LoanHelp, ...]
    spare: bool
    lacks: bool = False
    borrower: str = ""


@dataclass(frozen=True, slots=True)
class Lender:
    """A piece that can be lent: the person's key and name; `worse`: in how many views they lose reach without it.

    `only_for`: "lens" or "body" where it is not marked as one to lend, and so offered to those alone who have none.
    """

    piece: str
    person: str
    name: str
    worse: int = 0
    only_for: str = ""


@dataclass(frozen=True, slots=True)
class Scene:
    """What a trip offers everybody: hides, subjects, the bands of the verdicts, and what can be lent."""

    hides: tuple[Hide, ...]
    subjects: tuple[Subject, ...]
    settings: ReachSettings
    spare: Gear = NO_GEAR
    lenders: tuple[Lender, ...] = ()


def weight_of(subject: str, hide: Hide, wishes: Wishes) -> tuple[float, float]:
    """How much a subject matters to a person in a hide: votes x chance, then the chance."""
    chance = next((one for one in hide.chances if one.subject == subject), None)
    best = max(chance.early, chance.midday, chance.late, chance.night) if chance else 0.0
    return dict(wishes.votes).get(subject, 0) * best, best


def _subject_line(row: OneSetReach, names: dict[str, str], units: str) -> SubjectLine:
    name = names.get(row.subject or "", "")
    reach, sentence = row.reach, reach_sentence(row.reach, name, units)
    other = ""
    if reach.best and row.other and row.other.best:
        other = other_set_words(reach.best, row.other.best, row.other.fill)
    words = (reach_words(reach), verdict_level(reach.verdict))
    sentence = f"{sentence.rstrip('.')}; {other}." if other else sentence
    return SubjectLine(row.subject or "", name, reach.verdict, *words, sentence, reach, other)


def _view_line(view: View, rows: list[ViewReach], person: GearOwner, scene: Scene) -> ViewLine:
    """All subjects of a view with the set that serves the first of them."""
    units, best = person.units, rows[0].reach.best
    names = {subject.key: subject.said for subject in scene.subjects}
    judged = tuple(OneSetReach(row.subject, row.reach) for row in rows)
    if best is not None:
        judged = with_one_set(best, view, tuple(rows), scene.subjects, (person.wishes.output, scene.settings))
    lines = [_subject_line(row, names, units) for row in judged]
    remarks = dict.fromkeys(remark for row in judged for remark in row.reach.warnings)
    guesses = tuple(name for row in judged for name in row.reach.assumed)
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
    """A view's rows, what matters most to the person first; of equals the one that the gear suits best."""

    def order(row: ViewReach) -> tuple[float, float, int]:
        marked, likely = weight_of(row.subject or "", hide, wishes)
        return -marked, -likely, row.reach.rank

    return sorted(found.in_view(view.key), key=order)


def hide_line(person: GearOwner, hide: Hide, scene: Scene) -> PersonHide:
    """One hide for one person: every view, and what stands against getting there."""
    found = hide_reach(person.gear, hide, scene.subjects, person.wishes, scene.settings)
    there = access(person.limits, hide)
    views = tuple(_view_line(view, _rows_of(found, view, hide, person.wishes), person, scene) for view in hide.views)
    words = access_sentence(there, hide.name, person.units)
    return PersonHide(hide.key, hide.name, views, words, not there.open, found.fault)


def hide_lines(person: GearOwner, scene: Scene) -> tuple[PersonHide, ...]:
    """All hides for one person, in the scene's order."""
    return tuple(hide_line(person, hide, scene) for hide in scene.hides)


def loans(person: GearOwner, lines: tuple[PersonHide, ...], scene: Scene, only: str = "") -> tuple[Loan, ...]:
    """What would help a person wherever the subject that matters most is not good; nothing before gear is typed in.

    `only`: the key of the one hide asked for, "" for all.
    """
    if not person.gear.is_entered:
        return ()
    lenders = {
        one.piece: one for one in scene.lenders if one.person != person.key and one.only_for in ("", person.gear.lacks)
    }
    others = _only(scene.spare, set(lenders))
    many = sum(len(hide.views) for hide in scene.hides) + 1  # what is marked as one to lend comes first
    losses = {one.piece: one.worse + (many if one.only_for else 0) for one in scene.lenders}
    found: dict[tuple[str, str, tuple[LoanHelp, ...], bool], list[str]] = {}
    for hide, line in zip(scene.hides, lines, strict=True):
        for view, seen in zip(hide.views, line.views, strict=True):
            if seen.main.verdict == "good" or only not in ("", hide.key):
                continue
            about, helps = _helps(person, view, seen, scene, Offer(others, hide.views, losses))
            if not helps and seen.main.verdict in FILLS_MUCH:
                continue
            words = _help_words(helps, lenders, sum(len(one.views) for one in scene.hides))
            now = f"{about.subject}: {about.words}" if about.subject else about.words
            where = f"{hide.name}, {view.name}" if len(hide.views) > 1 else hide.name
            found.setdefault((now, about.level, words, any(one.spare for one in helps)), []).append(where)
    return tuple(
        Loan(person.name, tuple(where), now, level, words, lent, bool(person.gear.lacks), person.key)
        for (now, level, words, lent), where in found.items()
    )


def _help_words(helps: tuple[Addition, ...], lenders: dict[str, Lender], views: int) -> tuple[LoanHelp, ...]:
    """Each help in a sentence; of each kind of piece the few lenders who lose least, each with one piece."""
    told: list[LoanHelp] = []
    named: Counter[str] = Counter()
    seen: set[tuple[str, str]] = set()
    for one in helps:
        lender = lenders.get(one.key) if one.spare else None
        if lender is None:
            told.append(LoanHelp(help_sentence(one)))
        elif (one.kind, lender.person) not in seen and named[one.kind] < MOST_LENDERS:
            seen.add((one.kind, lender.person))
            named[one.kind] += 1
            words = help_sentence(one, lender.name, loss_words(lender.worse, views))
            words += " Not marked “can be lent”: ask first." if lender.only_for else ""
            told.append(LoanHelp(words, f"{one.kind}:{one.key}"))
    return tuple(told)


def _helps(
    person: GearOwner, view: View, seen: ViewLine, scene: Scene, offer: Offer
) -> tuple[SubjectLine, tuple[Addition, ...]]:
    """What would help for the main subject; in a fault, for the first subject that something lent makes good."""
    subjects = {subject.key: subject for subject in scene.subjects}
    asked = (seen.main, *seen.others) if seen.main.verdict == "fault" else (seen.main,)
    tried = []
    for line in asked:
        helps = what_would_help(person.gear, view, subjects.get(line.key), person.wishes.output, scene.settings, offer)
        if any(one.spare and one.reach.rank == 0 for one in helps):
            return line, helps
        tried.append((line, helps))
    return next(((line, helps) for line, helps in tried if helps), tried[0])


def _only(gear: Gear, keys: set[str]) -> Gear:
    """The pieces of gear that make up sets and whose keys are among these."""
    return Gear(
        bodies=tuple(one for one in gear.bodies if one.key in keys),
        lenses=tuple(one for one in gear.lenses if one.key in keys),
        converters=tuple(one for one in gear.converters if one.key in keys),
        tubes=tuple(one for one in gear.tubes if one.key in keys),
    )
