"""Names of files out of names of people and hides: safe on any system, readable, never the same twice."""

import re
import unicodedata

MOST_LETTERS = 60  # every file system takes 255 bytes, and a letter may have four


class FileNames:
    """Hands out names; remembers which are taken, whatever the case of their letters."""

    def __init__(self) -> None:
        self._taken: set[str] = set()

    def safe(self, folder: str, kind: str, name: str, ending: str = ".pdf") -> str:
        """`folder` + kind-name.pdf; a second one of that name gets a number."""
        stem = "-".join(part for part in (kind, safe_part(name)) if part)
        number, found = 1, f"{folder}{stem}{ending}"
        while found.casefold() in self._taken:
            number += 1
            found = f"{folder}{stem}-{number}{ending}"
        self._taken.add(found.casefold())
        return found


def safe_part(name: str) -> str:
    """Letters and digits of any script in small letters, joined by hyphens; at most 60; empty when none is left."""
    plain = unicodedata.normalize("NFC", name).casefold()
    kept = "".join(one if unicodedata.category(one)[0] in "LNM" else "-" for one in plain)
    return re.sub("-+", "-", kept).strip("-")[:MOST_LETTERS].strip("-")
