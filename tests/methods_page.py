"""docs/methods.md, made from the docstrings of the core and from the files of its checks: script/methods writes it."""

import ast
import csv
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "methods.md"
TESTS = ROOT / "tests" / "core"
CHAPTERS = (
    ("Optics", "participants/core/optics.py"),
    ("Packing", "participants/core/packing.py"),
    ("The sun", "trips/core/sun.py"),
    ("Daylight and exposure", "trips/core/daylight.py"),
    ("Sun, hide and subject", "trips/core/light/geometry.py"),
    ("Points for light", "trips/core/light/score.py"),
    ("Horizons", "trips/core/horizons.py"),
    ("Compass", "trips/core/magnetism.py"),
    ("Positions", "trips/core/positions.py"),
    ("Heat and water", "trips/core/heat.py"),
    ("Reach", "trips/core/reach/verdict.py"),
    ("Points of the rota", "trips/core/rota/problem/points.py"),
    ("Fair shares", "trips/core/rota/problem/shares.py"),
    ("Times of cars", "trips/core/drives/windows.py"),
)
HEAD = """# Methods

How Fairhide computes what it shows: each formula with its source, where it holds, how far off it can be, and what it
is checked against. `script/methods` writes this page from the code and from the files of checks, so do not edit it.

"from memory" and "common practice, no source" say what they mean: nobody looked it up.
"""


def page_text() -> str:
    """The page as the code now stands."""
    return HEAD + "".join(_chapter(title, ROOT / path) for title, path in CHAPTERS)


def check_files() -> set[str]:
    """The files of published values that tests of the core read."""
    return {name for test in TESTS.glob("test_*.py") for name in _files_read(test)}


def _chapter(title: str, path: Path) -> str:
    source = path.read_text()
    module = ast.parse(source)
    lines = [f"\n## {title}\n", f"{_plain(ast.get_docstring(module))}\n"]
    lines += [f"- `{name}`: {told}" for name, told in _functions(module)]
    if values := _values(module, source):
        lines += ["", "| value | what it is |", "|---|---|", *(f"| {code} | {why} |" for code, why in values)]
    if checks := list(_checks(path)):
        lines += ["", "Checked against:", "", *checks]
    return "\n".join(lines) + "\n"


def _functions(module: ast.Module) -> Iterator[tuple[str, str]]:
    """What others call, each with its docstring on a line."""
    for node in module.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and ast.get_docstring(node):
            yield node.name, _plain(ast.get_docstring(node))


def _values(module: ast.Module, source: str) -> Iterator[tuple[str, str]]:
    """Numbers of the module with the comment that says where they come from."""
    lines = source.splitlines()
    for node in module.body:
        if isinstance(node, ast.Assign) and node.lineno == node.end_lineno:
            code, _, why = lines[node.lineno - 1].partition("  # ")
            if why:
                yield f"`{code}`", _plain(why)


def _checks(path: Path) -> Iterator[str]:
    """The check files that the tests of this module read: how many values, whose."""
    tests = TESTS.glob(f"test_*{path.stem}*.py")
    for name in sorted({name for test in tests for name in _files_read(test)}):
        with (TESTS / "data" / name).open(encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
        whose = sorted({(row.get("source") or "").strip() for row in rows} - {""})
        yield f"- `{name}`, {len(rows)} values{': ' if whose else ''}{'; '.join(map(_plain, whose))}"


def _files_read(test: Path) -> set[str]:
    return set(re.findall(r'"(\w+\.csv)"', test.read_text()))


def _plain(text: str | None) -> str:
    """On one line, with nothing that a table or the page would take for its own marks."""
    return " ".join((text or "").split()).replace("|", "/").replace("*", "×").replace("<", "&lt;")


if __name__ == "__main__":
    PAGE.write_text(page_text())
