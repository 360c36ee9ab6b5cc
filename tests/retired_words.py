"""Words that the house no longer uses, and every text that people read: pages, papers, sentences, forms, commands."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from django.apps import apps

HOUSE = Path(__file__).resolve().parents[1]
# Each with the word that stands for the idea now. Phrases with another sense are taken out of the text first.
RETIRED = {
    r"marks?": "votes, or scoring",
    r"kits?": "gear",
    r"windows?": "view",
    r"ways? in": "sign-in link",
    r"handed link": "sign-in link",
    r"owner's say": "availability",
    r"seeds?": "draw number",
    r"bounds?": "best possible",
    r"worst share": "lowest fair share",
    r"in demand": "sought-after",
    r"burdens?": "hardship",
    r"call times?": "leave",
    r"sightings?": "arrival",
}
RETIRED_RE = re.compile(rf"\b({'|'.join(RETIRED)})\b", re.IGNORECASE)
OTHER_SENSE = re.compile(
    r"(question|exclamation|byte-order) marks?|marks? tests|pick-up windows?|computer \(Windows\)", re.IGNORECASE
)
# What specialists read of the planner: the field's own terms stay.
FIELD_TERMS = {"seed", "bound", "bounds", "worst share", "seeds"}
FOR_SPECIALISTS = (
    "docs/rota.md",
    "docs/methods.md",
    "docs/architecture.md",
    "docs/decisions/",
    "trips/core/rota/",
    "DEVELOPERS.md",
)
READ_ATTRIBUTES = r"(?:aria-label|alt|title|placeholder|data-label|data-queue-name|summary|content)"


def texts_read() -> Iterator[tuple[str, str]]:
    """(where, text) of everything that a person may read."""
    for path in sorted((HOUSE / "templates").rglob("*")):
        if path.suffix in {".html", ".txt"}:
            yield from _named(path, template_texts(path.read_text(encoding="utf-8")))
    for folder in ("trips", "participants", "config"):
        for path in sorted((HOUSE / folder).rglob("*.py")):
            if "migrations" in path.parts or path.name == "urls.py":  # rows of long ago, addresses
                continue
            texts = python_texts(path.read_text(encoding="utf-8"))
            yield from _named(path, (text for text in texts if path.name != "admin.py" or not _is_columns(text)))
        for path in sorted((HOUSE / folder / "static").rglob("*.js")):
            yield from _named(path, re.findall(r"[\"'`]([^\"'`\n]* [^\"'`\n]*)[\"'`]", _without_js_comments(path)))
    for path in (HOUSE / "README.md", HOUSE / "DEVELOPERS.md", *sorted((HOUSE / "docs").rglob("*.md"))):
        yield from _named(path, [re.sub(r"```.*?```|`[^`]*`", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)])


def retired_in(where: str, text: str) -> list[str]:
    """The retired words in a text, as it is written there."""
    found = [word[0] for word in RETIRED_RE.finditer(OTHER_SENSE.sub("", text))]
    special = where.startswith(FOR_SPECIALISTS)
    return [word for word in found if not (special and word.lower() in FIELD_TERMS)]


def _named(path: Path, texts: Iterator[str] | list[str]) -> Iterator[tuple[str, str]]:
    where = path.relative_to(HOUSE).as_posix()
    return ((where, text) for text in texts)


def _without_js_comments(path: Path) -> str:
    return re.sub(r"(?m)(^|\s)//.*$|/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)


def template_texts(source: str) -> Iterator[str]:
    """Text between tags, attributes that are read out or shown, and sentences inside template tags."""
    source = re.sub(r"\{#.*?#\}|\{% comment.*?endcomment %\}|<(script|style).*?</\1>", " ", source, flags=re.DOTALL)
    for tag in re.findall(r"\{%.*?%\}", source, flags=re.DOTALL):
        yield from (text for text in re.findall(r'"([^"]*)"', tag) if _is_prose(text))
    plain = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", " ", source, flags=re.DOTALL)
    yield from re.findall(rf'\b{READ_ATTRIBUTES}="([^"]*)"', plain)
    yield re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", plain))


def python_texts(source: str) -> Iterator[str]:
    """String literals that read as prose; docstrings, patterns and names are for developers."""
    nodes = list(ast.walk(ast.parse(source)))
    kept_out = {id(node.value) for node in nodes if isinstance(node, ast.Expr)}  # docstrings
    for node in nodes:
        if isinstance(node, ast.JoinedStr):  # its parts come later in `nodes`
            parts = [part for part in node.values if isinstance(part, ast.Constant)]
            kept_out |= {id(part) for part in parts}
            yield "{}".join(str(part.value) for part in parts)
        is_text = isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in kept_out
        if is_text and _is_prose(node.value):
            yield node.value


def _is_columns(text: str) -> bool:
    """Only names of columns, as lists of the administration have them: "trip state seed"."""
    columns = {field.name for model in apps.get_models() for field in model._meta.get_fields()}
    return columns.issuperset(text.split())


def _is_prose(text: str) -> bool:
    """A sentence, a phrase, or one word with a capital: "Seed" is a label, "seed" a key."""
    return " " in text.strip() or bool(re.fullmatch(r"[A-Z][a-z]+", text) and text != "Windows")
