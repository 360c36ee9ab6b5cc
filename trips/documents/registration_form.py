"""The form for those who write by hand: everything a person could type, in large print."""

from dataclasses import dataclass

from trips.documents.briefing import PaperHead

LINES_FOR_GEAR = 4


@dataclass(frozen=True, slots=True)
class Question:
    """A line to fill in (`choices` empty) or boxes to tick; `known`: what the leader has already."""

    text: str
    choices: tuple[str, ...] = ()
    known: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """Questions that belong together; `note` explains."""

    title: str
    questions: tuple[Question, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class RegistrationForm:
    """The whole form; `person` empty: a blank one. `send_to`: where the filled form goes."""

    head: PaperHead
    parts: tuple[Part, ...]
    person: str = ""
    send_to: str = ""


def form_parts(subjects: tuple[str, ...], known: tuple[tuple[str, str], ...] = ()) -> tuple[Part, ...]:
    """The parts of the form: person, coming and going, limits, wishes, gear.

    `subjects`: names of the animals of the trip; `known`: (question, answer) the leader has already.
    """
    answers = dict(known)

    def ask(text: str, *choices: str) -> Question:
        return Question(text, choices, answers.get(text, ""))

    gear = tuple(ask(f"Lens {number}: focal length, f-number, near limit") for number in range(1, LINES_FOR_GEAR + 1))
    return (
        Part("You", (ask("Name"), ask("Telephone"), ask("E-mail, if you have one"), ask("Emergency contact"),
                     ask("Food you do not eat"), ask("I measure in", "metres and °C", "feet and °F"))),
        Part("Coming and going", (ask("I arrive on, at"), ask("I leave on, at"))),
        Part("What I can do", (
            ask("Steps, at most"), ask("Walk one way, at most"),
            ask("Way in", "walk in", "stoop", "ladder", "crawl"), ask("Hours at a stretch, at most"),
            ask("I need help with carrying", "yes", "no")),
            "Leave a line empty where nothing limits you. Say \"rather not\" where it would be possible."),
        Part("What I wish for", (
            ask("Light", "from behind me", "from the side", "against the light", "any"),
            ask("I make of it", "screen and web", "print 30 × 20 cm", "print A3"),
            ask("I take pictures", "yes", "no, I come along"), *(ask(f"Marks for {name}") for name in subjects)),
            "You have six marks for the animals you want most: write how many each gets."),
        Part("My gear", (
            ask("Body 1: sensor size, megapixels"), ask("Body 2: sensor size, megapixels"), *gear,
            ask("Converters and tubes"), ask("Tripod, bean bag, clamp"), ask("Spare batteries: volts, Ah, how many"))),
    )  # fmt: skip
