"""The rules of the house, read from the source without running it. test_architecture.py holds the project to them."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.architecture_of_tests import faults_of_tests
from tests.architecture_source import (
    CORE,
    FLOORS,
    OWN,
    RECORDS,
    Fault,
    Module,
    argument_count,
    first_argument,
    floor_of,
    functions,
    imported,
    last_name,
    length_of,
    read_modules,
    targets,
)

SOLVER = "ortools"
FRAMEWORK = ("django", "crispy_forms", "django_htmx", "django_tasks", "environ", "config", "psycopg", "sqlite3")
CLOCKS = ("now", "today", "utcnow", "localtime", "time")
# Modules that bring a clock (monotonic, perf_counter, sleep ...) or files: the core imports nothing of them.
CLOCK_MODULES = ("time",)
FILE_MODULES = ("importlib.resources", "pathlib", "os", "tempfile")
# The design's own words, though the standard library has them too.
HOUSE_WORDS = ("selectors", "site")
BAD_NAMES = ("utils", "helpers", "common", "manager", "managers", "misc")
METHOD_DECORATORS = ("require_GET", "require_POST", "require_safe", "require_http_methods")
ROTA = "trips.core.rota."
# What a room of the rota may import besides itself: whole rooms, or single modules of a room.
ROTA_ROOMS: dict[str, tuple[str, ...]] = {
    "problem": (),
    "model": ("problem",),
    # The values alone: a share that the planner's own count gets wrong would else be wrong in both and never found.
    "check": ("problem.values",),
    "files": ("problem",),
    "search": ("problem", "model"),
    "explain": ("problem", "model", "check"),
    "edit": ("problem", "check"),
}
ROOM_MODULES = 12
STATES = ("state", "doors")  # fields whose values are named by their choices
FUNCTION_LINES, VIEW_LINES, FILE_LINES, ARGUMENTS = 40, 25, 300, 6


def faults(root: Path) -> list[Fault]:
    """Every broken rule below `root`, sorted."""
    modules = read_modules(root)
    found = [fault for module in modules.values() for rule in RULES for fault in rule(module)]
    return sorted([*found, *circles(modules), *shared_names(modules), *faults_of_tests(root, FILE_LINES)])


def floors(module: Module) -> Iterator[Fault]:
    for target, line in module.imports:
        if floor_of(target) > module.floor:
            yield Fault("floor", module.name, line, f"imports {target} from a higher floor")


def known_rooms(module: Module) -> Iterator[Fault]:
    """Whatever stands at the top of participants/ or trips/ has a floor."""
    parts = module.name.split(".")
    if parts[0] != "config" and len(parts) > 1 and parts[1] not in FLOORS:
        yield Fault("room", module.name, 1, f"{parts[1]!r} has no floor; give it one in architecture_source.py")


def participants_alone(module: Module) -> Iterator[Fault]:
    for target, line in module.imports:
        if module.name.startswith("participants") and target.startswith("trips"):
            yield Fault("participants", module.name, line, f"participants never imports trips ({target})")


def pure_core(module: Module) -> Iterator[Fault]:
    """The core knows no framework, no clock and no files."""
    if module.floor != CORE:
        return
    for target, line in imported(module.tree):
        if target.split(".")[0] in FRAMEWORK:
            yield Fault("framework", module.name, line, f"the core imports {target}")
        for kind, barred in (("clock", CLOCK_MODULES), ("file", FILE_MODULES)):
            if any(target == name or target.startswith(f"{name}.") for name in barred):
                yield Fault(kind, module.name, line, f"the core imports {target}; hand in what it would read")
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in CLOCKS:
            if isinstance(node.func.value, ast.Name | ast.Attribute) and last_name(node.func.value) in _CLOCK_OWNERS:
                yield Fault("clock", module.name, node.lineno, f"the core reads the clock: {node.func.attr}()")
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "open":
            yield Fault("file", module.name, node.lineno, "the core opens a file")


def open_imports(module: Module) -> Iterator[Fault]:
    """No own import inside a function; the solver only inside one."""
    hidden = [node for function in functions(module.tree) for node in ast.walk(function)]
    for node in hidden:
        for target, line in targets(node):
            if target.split(".")[0] in OWN:
                yield Fault("hidden", module.name, line, f"imports {target} inside a function")
    inside = {id(node) for node in hidden}
    for node in ast.walk(module.tree):
        if id(node) not in inside:
            for target, line in targets(node):
                if target.split(".")[0] == SOLVER:
                    yield Fault("solver", module.name, line, f"imports {target} outside the function that solves")


def rooms_of_the_rota(module: Module) -> Iterator[Fault]:
    """Each room of the rota imports its own modules and the rooms below it; each says so in its docstring."""
    room = _room_of(module.name)
    if room is None:
        return
    if module.path.name == "__init__.py":
        if not ast.get_docstring(module.tree):
            yield Fault("rooms", module.name, 1, "a room says what comes in, what goes out and what it imports")
        count = len([path for path in module.path.parent.glob("*.py") if path.name != "__init__.py"])
        if count > ROOM_MODULES:
            yield Fault("rooms", module.name, 1, f"{count} modules, at most {ROOM_MODULES} a room")
    for target, line in module.imports:
        other = _room_of(target)
        if other is not None and other != room and not _is_below(target, other, ROTA_ROOMS.get(room, ())):
            yield Fault("rooms", module.name, line, f"the room {room!r} imports {target}")


def _room_of(name: str) -> str | None:
    """The room of the rota that a module is in; None outside the rota."""
    parts = name.removeprefix(ROTA).split(".") if name.startswith(ROTA) else [""]
    return parts[0] or None


def _is_below(target: str, room: str, below: tuple[str, ...]) -> bool:
    return room in below or target.removeprefix(ROTA) in below


def queries_in_selectors(module: Module) -> Iterator[Fault]:
    for node in ast.walk(module.tree):
        if module.is_view and isinstance(node, ast.Attribute) and node.attr in ("objects", "_default_manager"):
            yield Fault("query", module.name, node.lineno, "a view starts a query; ask a selector")


def thin_models(module: Module) -> Iterator[Fault]:
    """No logic in save, no signals."""
    for target, line in imported(module.tree):
        if "signals" in target.split("."):
            yield Fault("signal", module.name, line, f"imports {target}")
    for function in functions(module.tree):
        if module.floor == RECORDS and function.name in ("save", "delete"):
            yield Fault("save", module.name, function.lineno, f"a model with its own {function.name}()")


def sizes(module: Module) -> Iterator[Fault]:
    lines = len(module.path.read_text(encoding="utf-8").splitlines())
    if lines > FILE_LINES:
        yield Fault("size", module.name, 1, f"{lines} lines, at most {FILE_LINES}")
    for function in functions(module.tree):
        limit = VIEW_LINES if module.is_view else FUNCTION_LINES
        length = length_of(function)
        if length > limit:
            yield Fault("size", module.name, function.lineno, f"{function.name}: {length} lines, at most {limit}")
        arguments = argument_count(function)
        if arguments > ARGUMENTS:
            yield Fault(
                "size", module.name, function.lineno, f"{function.name}: {arguments} arguments, at most {ARGUMENTS}"
            )


def file_names(module: Module) -> Iterator[Fault]:
    for part in module.name.split("."):
        if part in BAD_NAMES or (part in sys.stdlib_module_names and part not in HOUSE_WORDS):
            yield Fault("name", module.name, 1, f"no file is called {part!r}")


def states_by_name(module: Module) -> Iterator[Fault]:
    """Above the core a state is a member of its choices: a slip in a text would match no row and say nothing."""
    if module.floor == CORE:
        return
    for node in ast.walk(module.tree):
        sides: list[ast.expr] = []
        if isinstance(node, ast.keyword) and _is_state(node.arg or ""):
            sides = [node.value]
        elif isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            if not any(isinstance(side, ast.Attribute) and _is_state(side.attr) for side in sides):
                continue
        for text in (text for side in sides for text in _texts(side)):
            yield Fault("state", module.name, text.lineno, f"the state {text.value!r} has a name in its choices")


def _is_state(name: str) -> bool:
    """Whether a field, or what is asked of rows (`rota__state__in`), is a state."""
    return name.removesuffix("__in").rpartition("__")[2] in STATES


def _texts(side: ast.expr) -> list[ast.Constant]:
    """The texts that a value is, or lists."""
    values = side.elts if isinstance(side, ast.List | ast.Tuple | ast.Set) else [side]
    return [value for value in values if isinstance(value, ast.Constant) and isinstance(value.value, str)]


def accepted_methods(module: Module) -> Iterator[Fault]:
    """Every view says which methods it takes."""
    if not module.is_view:
        return
    for node in module.tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and first_argument(node) == "request":
            names = {last_name(item.func if isinstance(item, ast.Call) else item) for item in node.decorator_list}
            if not names & set(METHOD_DECORATORS) and node.name not in ("bad_request", *_ERROR_VIEWS):
                yield Fault("methods", module.name, node.lineno, f"{node.name} does not say which methods it takes")


def circles(modules: dict[str, Module]) -> Iterator[Fault]:
    """Modules that import each other, directly or around a corner (Tarjan 1972, strongly connected components)."""
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[list[str]] = []

    def visit(name: str) -> None:
        index[name] = low[name] = len(index)
        stack.append(name)
        for target, _ in modules[name].imports:
            if target in modules and target not in index:
                visit(target)
                low[name] = min(low[name], low[target])
            elif target in stack:
                low[name] = min(low[name], index[target])
        if low[name] == index[name]:
            position = stack.index(name)
            found.append(stack[position:])
            del stack[position:]

    for name in modules:
        if name not in index:
            visit(name)
    for ring in found:
        if len(ring) > 1:
            yield Fault("circle", min(ring), 1, "a circle of imports: " + ", ".join(sorted(ring)))


def shared_names(modules: dict[str, Module]) -> Iterator[Fault]:
    """A class has its name for itself; a row and the core's value of the same thing may share theirs."""
    first: dict[str, str] = {"Command": ""}  # Django finds commands by this name
    for module in modules.values():
        for node in module.tree.body if module.floor != RECORDS else []:
            if isinstance(node, ast.ClassDef) and node.name in first and first[node.name]:
                yield Fault("name", module.name, node.lineno, f"{first[node.name]} has a class {node.name} too")
            elif isinstance(node, ast.ClassDef):
                first.setdefault(node.name, module.name)


RULES = (
    floors,
    known_rooms,
    participants_alone,
    pure_core,
    open_imports,
    rooms_of_the_rota,
    queries_in_selectors,
    thin_models,
    sizes,
    file_names,
    states_by_name,
    accepted_methods,
)
_CLOCK_OWNERS = ("datetime", "date", "time", "timezone")
_ERROR_VIEWS = ("csrf_failure", "forbidden", "not_found", "server_error")
