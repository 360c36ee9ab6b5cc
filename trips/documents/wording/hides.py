"""What a hide still lacks, in a few words for its line in a list."""

from collections.abc import Iterable

from trips.documents.wording.light import ASSUMED_WORDS

NO_SEATS = "no seats"
NO_VIEW = "no view"
NO_SUBJECTS = "no subjects: reach by distance alone"
OWN_POSITION = "stands where the site stands, assumed"
NO_DRIVE = "0 min from the lodge"


def assumed_words(names: Iterable[str]) -> tuple[str, ...]:
    """What is assumed of a hide and its views, each once."""
    return tuple(dict.fromkeys(ASSUMED_WORDS[name] for name in names))
