"""Why a problem file is refused: where, what stands there, what should."""

from participants.core.errors import BadShape

REASONS = {
    "not_json": "this is not JSON",
    "not_an_object": "this should be an object in braces",
    "not_a_list": "this should be a list",
    "not_a_name": "this should be a name, a text that is not empty",
    "not_printable": "a name is one line, without characters that cannot be printed",
    "not_true_or_false": "this should be true or false",
    "not_a_whole_number": "this should be a whole number",
    "not_a_number": "this should be a number",
    "not_one_of_those_allowed": "this is not one of the words allowed here",
    "out_of_range": "this number is out of range",
    "wrong_length": "this has the wrong length",
    "unknown_key": "there is no such key",
    "unknown_name": "nobody and nothing has this name",
    "missing": "this key is missing",
    "key_twice": "this key comes twice",
    "name_twice": "this name comes twice",
    "same_person_twice": "a pair needs two different people",
    "pinned_twice": "this person is pinned to another hide in the same session",
    "joined_twice": "a session of this hide is joined twice",
    "falls": "a later visit may not cost less than an earlier one",
}


def bad_shape_sentence(error: BadShape) -> str:
    """One sentence with path, value and reason."""
    where = ascii(error.path)[1:-1] if not error.path.isprintable() else error.path or "the whole file"
    value = "" if error.value is None else f" is {error.value!r}"
    return f"{where}{value}: {REASONS[error.reason]}."
