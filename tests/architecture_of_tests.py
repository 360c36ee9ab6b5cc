"""The rules of the tests themselves: one subject a file, no sleep without a condition, one clock."""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.architecture_source import Fault, last_name

PAUSES = ("sleep", "wait_for_timeout")
PAUSE_IS_THE_SUBJECT = "the pause is the subject"
WAITING = ("tests.waiting", "tests.browser.page_waiting")
CLOCK_LOOKS = ("timezone.now", "timezone.localdate", "timezone.localtime", "datetime.now", "date.today")
CLOCK = "clock"  # the fixture of frozen_clock.py


def faults_of_tests(root: Path, most_lines: int) -> Iterator[Fault]:
    """Every broken rule below tests/; packages that came by npm are not ours."""
    for path in sorted((root / "tests").rglob("*")):
        inside = path.relative_to(root)
        if path.suffix not in (".py", ".mjs") or "node_modules" in inside.parts:
            continue
        name, text = ".".join(inside.with_suffix("").parts), path.read_text(encoding="utf-8")
        lines = text.splitlines()
        if len(lines) > most_lines:
            yield Fault("size", name, 1, f"{len(lines)} lines, at most {most_lines}")
        if path.suffix == ".py":
            tree = ast.parse(text, str(path))
            yield from pauses(name, tree, lines)
            yield from clocks(name, tree)


def pauses(name: str, tree: ast.Module, lines: list[str]) -> Iterator[Fault]:
    """A test waits for a condition; a pause that is itself the subject says so on its line."""
    for node in ast.walk(tree):
        is_pause = isinstance(node, ast.Call) and last_name(node.func) in PAUSES and name not in WAITING
        if is_pause and PAUSE_IS_THE_SUBJECT not in lines[node.lineno - 1]:
            yield Fault("pause", name, node.lineno, "sleeps; wait for what is expected, with tests/waiting.py")


def clocks(name: str, tree: ast.Module) -> Iterator[Fault]:
    """A test that looks at the clock freezes it; a real browser and its server keep the real one."""
    if name.startswith("tests.browser.") or not name.rpartition(".")[2].startswith("test_") or _is_frozen(tree):
        return
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith(CLOCK_LOOKS):
            yield Fault("clock", name, node.lineno, "looks at the real clock; use the fixture of frozen_clock.py")


def _is_frozen(tree: ast.Module) -> bool:
    return any(
        (isinstance(node, ast.arg) and node.arg == CLOCK) or (isinstance(node, ast.Constant) and node.value == CLOCK)
        for node in ast.walk(tree)
    )
