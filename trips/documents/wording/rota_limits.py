"""Every word about the limits of a trip: at their boxes, where a rota breaks one, where one is in the way."""

from collections.abc import Callable
from typing import Any

from trips.documents.wording.rota_names import count, times

Sentences = dict[str, Callable[[Any], str]]

LABELS = {
    "open_hides_at_once": "Hides open at once",
    "visits_at_most": "Visits to one hide at most",
    "consecutive_turns_at_most": "Sessions in a row for a person at most",
}
HELP = {
    "open_hides_at_once": "How many hides the owner opens in one session. Empty: no limit.",
    "visits_at_most": "How often one person may sit in the same hide. Empty: no limit.",
    "consecutive_turns_at_most": "After that many sessions in a row a person rests or is away; allow rests in the "
    "sessions for it. Empty: no limit.",
}
FAULTS: Sentences = {
    "open_at_once": lambda f: (
        f"open in {f.when}: {f.hide}, {count(f.number('open'), 'hide')}; at most {f.number('most')} may be."
    ),
    "visits_at_most": lambda f: (
        f"{f.who} visits {f.hide} {times(f.number('visits'))}; "
        f"at most {count(f.number('most'), 'visit')} {_is(f.number('most'))} allowed."
    ),
    "consecutive_turns": lambda f: (
        f"{f.who} has a turn in {count(f.number('sessions'), 'session')} in a row ({f.when}); "
        f"at most {f.number('most')} {_is(f.number('most'))} allowed."
    ),
}
REASONS: Sentences = {
    "open_at_once": lambda f: f"at most {count(f.figure('most'), 'hide')} may be open{f.inside}.",
    "visits_at_most": lambda f: (
        f"{f.who} may sit in {f.hide} {'at most ' if f.figure('most') else ''}{times(f.figure('most'))}"
        f"{' each' if len(f.item.hides) > 1 else ''}."
    ),
    "consecutive_turns": lambda f: f"nobody has a turn in more than {count(f.figure('most'), 'session')} in a row.",
    "rests_in_a_row": lambda f: (
        f"{f.when}: each of {count(f.figure('people'), 'person', 'people')} needs a rest in any "
        f"{count(f.figure('row'), 'session')} in a row, {count(f.figure('rests'), 'rest')} allowed in them, "
        f"{f.figure('short')} short."
    ),
}
REMEDIES: Sentences = {
    "more_hides": lambda f: f"{count(f.figure('most'), 'hide')} may be open at once",
    "more_visits": lambda f: f"{count(f.figure('most'), 'visit')} to one hide {_is(f.figure('most'))} allowed",
    "more_in_a_row": lambda f: (
        f"{count(f.figure('most'), 'session')} in a row {_is(f.figure('most'))} allowed for a person"
    ),
}


def _is(number: int) -> str:
    return "is" if number == 1 else "are"
