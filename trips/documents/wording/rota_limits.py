"""Every word about the limits of a trip: at their boxes, where a rota breaks one, where one is in the way."""

from collections.abc import Callable

from trips.documents.wording.rota_facts import RuleFacts
from trips.documents.wording.rota_names import times

Sentences = dict[str, Callable[[RuleFacts], str]]

LABELS = {
    "open_hides_at_once": "Hides open at once",
    "visits_at_most": "Visits to one hide at most",
    "consecutive_turns_at_most": "Sessions in a row for a person at most",
}
HELP = {
    "open_hides_at_once": "How many hides the owner opens in one session. Empty: no limit.",
    "visits_at_most": "How often one person may sit in the same hide. Empty: no limit.",
    "consecutive_turns_at_most": "After this many sessions in a row a person rests. Allow rests in the sessions "
    "for it. Empty: no limit.",
}
FAULTS: Sentences = {
    "open_at_once": lambda f: (
        f"open in {f.when}: {f.hide}, {f.count('open', 'hide')}; at most {f.number('most')} may be."
    ),
    "visits_at_most": lambda f: (
        f"{f.who} visits {f.hide} {times(f.number('visits'))}; at most {f.allowed('most', 'visit')}."
    ),
    "consecutive_turns": lambda f: (
        f"{f.who} has a turn in {f.count('sessions', 'session')} in a row ({f.when}); "
        f"at most {f.number('most')} {'is' if f.number('most') == 1 else 'are'} allowed."
    ),
}
REASONS: Sentences = {
    "open_at_once": lambda f: f"at most {f.count('most', 'hide')} may be open{f.inside}.",
    "visits_at_most": lambda f: (
        f"{f.who} may sit in {f.hide} {'at most ' if f.number('most') else ''}{times(f.number('most'))}"
        f"{' each' if len(f.item.hides) > 1 else ''}."
    ),
    "consecutive_turns": lambda f: f"nobody has a turn in more than {f.count('most', 'session')} in a row.",
    "rests_in_a_row": lambda f: (
        f"{f.when}: each of {f.count('people', 'person', 'people')} needs a rest in any "
        f"{f.count('row', 'session')} in a row, but {f.allowed('rests', 'rest')} in them."
    ),
}
REMEDIES: Sentences = {
    "more_hides": lambda f: f"{f.count('most', 'hide')} may be open at once",
    "more_visits": lambda f: f.allowed("most", "visit to one hide", "visits to one hide"),
    "more_in_a_row": lambda f: (
        f"{f.count('most', 'session')} in a row {'is' if f.number('most') == 1 else 'are'} allowed for a person"
    ),
}
