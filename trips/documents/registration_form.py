"""The form for those who write by hand: everything a person could type, in large print."""

from collections.abc import Mapping
from dataclasses import dataclass

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from trips.documents.briefing import PaperHead

ROWS_FOR_BODIES, ROWS_FOR_LENSES = 2, 4  # what most people bring; common practice, no source
BEYOND = (noted("more I cannot do"), noted("more I would rather not do"))
CANNOT = (noted("anything else I cannot do"), noted("anything else I would rather not do"))


@dataclass(frozen=True, slots=True)
class FormQuestion:
    """A line to fill in, boxes to tick, or both; `known`: what the leader has already. `lines`: to write on."""

    text: str
    choices: tuple[str, ...] = ()
    known: str = ""
    lines: int = 0

    @property
    def more_lines(self) -> range:
        """The lines below the one that the question stands on."""
        return range(1, self.lines)


@dataclass(frozen=True, slots=True)
class Grid:
    """A table to fill in, `rows` high; what a column asks with a question mark is ticked."""

    columns: tuple[str, ...]
    rows: int

    @property
    def lines(self) -> tuple[tuple[str, ...], ...]:
        """What stands in the cells before anybody writes."""
        return (tuple("☐" if column.endswith("?") else "" for column in self.columns),) * self.rows


@dataclass(frozen=True, slots=True)
class FormSection:
    """Questions that belong together; `note` explains. `votes`: for what a digit is written into a box."""

    title: str
    questions: tuple[FormQuestion, ...]
    note: str = ""
    grids: tuple[Grid, ...] = ()
    votes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RegistrationForm:
    """The whole form; `person` empty: a blank one. `send_to`: where the filled form goes."""

    head: PaperHead
    parts: tuple[FormSection, ...]
    person: str = ""
    send_to: str = ""


def form_parts(
    subjects: tuple[str, ...], hides: tuple[str, ...] = (), known: tuple[tuple[str, str], ...] = ()
) -> tuple[FormSection, ...]:
    """The parts of the form: person, coming and going, limits, wishes, company, health, gear.

    `subjects`, `hides`: the trip's, by name; `known`: (question, answer) that the leader has already.
    """
    answers = dict(known)
    how = (_("together always"), _("together half the time"), _("never together"))
    return (
        _you(answers),
        FormSection(_("Coming and going"), (_write(_("I arrive on, at")), _write(_("I leave on, at")))),
        _limits(),
        _wishes(subjects, hides),
        FormSection(
            _("Company"),
            (_write(_("Person")), FormQuestion(_("How"), how)),
            _("Whom you would like to sit with, or not. Only your leader reads this."),
        ),
        FormSection(
            _("Health"),
            (_write(_("What my leader should know"), lines=3),),
            _(
                "What could matter in a hide or on the way: heart, allergies, medicine you carry. "
                "Only the leaders read it; tell it to them instead where this form goes through other hands."
            ),
        ),
        _gear(),
    )


def _write(text: str, *choices: str, lines: int = 1) -> FormQuestion:
    return FormQuestion(text, choices, lines=lines)


def _you(answers: Mapping[str, str]) -> FormSection:
    asked = (_("Name"), _("Telephone"), _("E-mail, if you have one"), _("Emergency contact"), _("Food you do not eat"))
    known = {text: answers.get(text, "").strip() for text in asked}
    lines = tuple(FormQuestion(text, known=answer, lines=0 if answer else 1) for text, answer in known.items())
    language = FormQuestion(_("Language"), ("English", "Deutsch", "Español"))
    units = FormQuestion(_("I measure in"), (_("metres and °C"), _("feet and °F")))
    return FormSection(_("You"), (*lines, language, units))


def _limits() -> FormSection:
    questions = (
        _write(_("Steps, at most"), *map(_, BEYOND)),
        _write(_("Walk one way, at most (m or ft)"), *map(_, BEYOND)),
        FormQuestion(_("Hardest entrance"), (_("walk in"), _("stoop"), _("ladder"), _("crawl"), *map(_, CANNOT))),
        _write(_("Hours at a stretch, at most"), *map(_, BEYOND)),
        FormQuestion(_("I need help with carrying"), (_("yes"), _("no"))),
    )
    return FormSection(_("What I can do"), questions, _("Leave a line empty where nothing limits you."))


def _wishes(subjects: tuple[str, ...], hides: tuple[str, ...]) -> FormSection:
    questions = (
        FormQuestion(_("I take pictures"), (_("yes"), _("no, I come along"))),
        FormQuestion(_("Light"), (_("from behind me"), _("from the side"), _("against the light"), _("any"))),
        FormQuestion(_("I make of it"), (_("screen and web"), _("print 30 × 20 cm"), _("print A3"))),
        *((FormQuestion(_("I want to go back to"), hides),) if hides else ()),
    )
    note = _("You have six votes for the animals you want most: write how many each gets.") if subjects else ""
    return FormSection(_("What I wish for"), questions, note, votes=tuple(map(isolated, subjects)))


def _gear() -> FormSection:
    frames, autofocus, lend = _("Frames a second"), _("Auto\u00adfocus to f/"), _("To lend?")
    bodies = Grid((_("Sensor, mm"), _("Pixels"), frames, autofocus, _("Top good ISO"), lend), ROWS_FOR_BODIES)
    near, size = _("Near limit, m or ft"), _("Magni\u00adfication, at most")
    converter, weight = _("Takes a con\u00adverter?"), _("Weight, g")
    lenses = Grid((_("Focal length, mm"), "f/", near, size, converter, weight, lend), ROWS_FOR_LENSES)
    questions = (
        _write(_("Converters and tubes")),
        _write(_("Tripod, bean bag, clamp")),
        _write(_("Spare batteries: volts, Ah, how many")),
    )
    return FormSection(_("My gear"), questions, _("A body on each line, then a lens on each line."), (bodies, lenses))
