"""The form for those who write by hand: everything a person could type, in large print."""

from collections.abc import Mapping
from dataclasses import dataclass

from trips.documents.briefing import PaperHead

ROWS_FOR_BODIES, ROWS_FOR_LENSES = 2, 4  # what most people bring; common practice, no source
BEYOND = ("more I cannot do", "more I would rather not do")
CANNOT = ("anything else I cannot do", "anything else I would rather not do")


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
    """Questions that belong together; `note` explains."""

    title: str
    questions: tuple[FormQuestion, ...]
    note: str = ""
    grids: tuple[Grid, ...] = ()


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
    return (
        _you(answers),
        FormSection("Coming and going", (_write("I arrive on, at"), _write("I leave on, at"))),
        _limits(),
        _wishes(subjects, hides),
        FormSection(
            "Company",
            (_write("Person"), FormQuestion("How", ("together always", "together half the time", "never together"))),
            "Whom you would like to sit with, or not. Only your leader reads this.",
        ),
        FormSection(
            "Health",
            (_write("What my leader should know", lines=3),),
            "What could matter in a hide or on the way: heart, allergies, medicine you carry. "
            "Only the leaders read it; tell it to them instead where this form goes through other hands.",
        ),
        _gear(),
    )


def _write(text: str, *choices: str, lines: int = 1) -> FormQuestion:
    return FormQuestion(text, choices, lines=lines)


def _you(answers: Mapping[str, str]) -> FormSection:
    asked = ("Name", "Telephone", "E-mail, if you have one", "Emergency contact", "Food you do not eat")
    known = {text: answers.get(text, "").strip() for text in asked}
    lines = tuple(FormQuestion(text, known=answer, lines=0 if answer else 1) for text, answer in known.items())
    language = FormQuestion("Mails in", ("English", "Deutsch", "Español"))
    return FormSection("You", (*lines, language, FormQuestion("I measure in", ("metres and °C", "feet and °F"))))


def _limits() -> FormSection:
    questions = (
        _write("Steps, at most", *BEYOND),
        _write("Walk one way, at most (m or ft)", *BEYOND),
        FormQuestion("Hardest entrance", ("walk in", "stoop", "ladder", "crawl", *CANNOT)),
        _write("Hours at a stretch, at most", *BEYOND),
        FormQuestion("I need help with carrying", ("yes", "no")),
    )
    return FormSection("What I can do", questions, "Leave a line empty where nothing limits you.")


def _wishes(subjects: tuple[str, ...], hides: tuple[str, ...]) -> FormSection:
    questions = (
        FormQuestion("I take pictures", ("yes", "no, I come along")),
        FormQuestion("Light", ("from behind me", "from the side", "against the light", "any")),
        FormQuestion("I make of it", ("screen and web", "print 30 × 20 cm", "print A3")),
        *((FormQuestion("I want to go back to", hides),) if hides else ()),
        *(_write(f"Votes for {name}") for name in subjects),
    )
    note = "You have six votes for the animals you want most: write how many each gets." if subjects else ""
    return FormSection("What I wish for", questions, note)


def _gear() -> FormSection:
    bodies = Grid(
        ("Sensor, mm", "Pixels", "Frames a second", "Auto\u00adfocus to f/", "Top good ISO", "To lend?"),
        ROWS_FOR_BODIES,
    )
    lenses = Grid(
        ("Focal length, mm", "f/", "Near limit, m or ft", "Magni\u00adfication, at most", "Takes a con\u00adverter?",
         "Weight, g", "To lend?"),
        ROWS_FOR_LENSES,
    )  # fmt: skip
    questions = (
        _write("Converters and tubes"),
        _write("Tripod, bean bag, clamp"),
        _write("Spare batteries: volts, Ah, how many"),
    )
    return FormSection("My gear", questions, "A body on each line, then a lens on each line.", (bodies, lenses))
