"""Source files of the project, read without running them: their floors, imports and functions."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

OWN = ("participants", "trips", "config")
CORE, RECORDS, USE, EDGES, HOUSE = 1, 2, 3, 4, 5
FLOORS = {
    "core": CORE,
    "documents": CORE,
    "wording": CORE,
    "models": RECORDS,
    "versions": RECORDS,
    "selectors": USE,
    "assemble": USE,
    "services": USE,
    "tasks": USE,
    "session_store": USE,
    "tokens": USE,
    "mail": USE,
    "speaking": USE,
    "access": EDGES,
    "queued": EDGES,
    "form_fields": EDGES,
    "views": EDGES,
    "forms": EDGES,
    "urls": EDGES,
    "admin": EDGES,
    "apps": EDGES,
    "templatetags": EDGES,
    "management": EDGES,
}


@dataclass(frozen=True, order=True)
class Fault:
    """One broken rule: where, which, and what to do."""

    kind: str
    module: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.module}:{self.line} [{self.kind}] {self.text}"


@dataclass
class Module:
    """One source file: its dotted name, its tree, and the own modules it imports with their lines."""

    name: str
    path: Path
    tree: ast.Module
    imports: list[tuple[str, int]] = field(default_factory=list)

    @property
    def floor(self) -> int:
        """1 core, 2 records, 3 use, 4 edges, 5 the house itself."""
        parts = self.name.split(".")
        if parts[0] == "config":
            return HOUSE
        return FLOORS.get(parts[1], EDGES) if len(parts) > 1 else CORE

    @property
    def is_view(self) -> bool:
        return ".views" in self.name


def read_modules(root: Path) -> dict[str, Module]:
    """Every module of the project below `root`, without migrations."""
    modules = {}
    for package in OWN:
        for path in sorted((root / package).rglob("*.py")):
            parts = path.relative_to(root).with_suffix("").parts
            if "migrations" in parts or "__pycache__" in parts:
                continue
            name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
            modules[name] = Module(name, path, ast.parse(path.read_text(encoding="utf-8"), str(path)))
    for module in modules.values():
        module.imports = [
            (_resolved(target, modules), line) for target, line in imported(module.tree) if target.split(".")[0] in OWN
        ]
    return modules


def imported(tree: ast.AST) -> Iterator[tuple[str, int]]:
    for node in ast.walk(tree):
        yield from targets(node)


def targets(node: ast.AST) -> Iterator[tuple[str, int]]:
    """`from a.b import c` gives a.b.c: whether c is a module is decided by `_resolved`."""
    if isinstance(node, ast.Import):
        for alias in node.names:
            yield alias.name, node.lineno
    elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
        for alias in node.names:
            yield f"{node.module}.{alias.name}", node.lineno
    elif isinstance(node, ast.ImportFrom):
        yield "." * node.level + (node.module or ""), node.lineno


def _resolved(target: str, modules: dict[str, Module]) -> str:
    return target if target in modules else target.rpartition(".")[0] or target


def floor_of(target: str) -> int:
    return Module(target, Path(), ast.Module([], [])).floor


def functions(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def length_of(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines from `def` to the end, without the docstring."""
    total = (function.end_lineno or function.lineno) - function.lineno + 1
    first = function.body[0]
    if ast.get_docstring(function) is not None:
        total -= (first.end_lineno or first.lineno) - first.lineno + 1
    return total


def argument_count(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    every = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    return len([argument for argument in every if argument.arg not in ("self", "cls")])


def first_argument(function: ast.FunctionDef) -> str:
    return function.args.args[0].arg if function.args.args else ""


def last_name(node: ast.AST) -> str:
    return node.attr if isinstance(node, ast.Attribute) else node.id if isinstance(node, ast.Name) else ""
