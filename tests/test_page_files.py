"""What pages load: modules and what they import, the palette, templates that a person can read."""

import json
import re
import subprocess
from pathlib import Path

import pytest

from config.settings import PACKAGED_ASSETS
from trips.views.my_days import PACK_MODULES, PACK_STYLES

ROOT = Path(__file__).resolve().parent.parent
APPS = ("config", "participants", "trips")
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
MODULES = {
    str(path.relative_to(ROOT / app / "static")): path for app in APPS for path in (ROOT / app / "static").rglob("*.js")
}
STYLES = sorted(path for app in APPS for path in (ROOT / app / "static").rglob("*.css"))
PACKAGED = "htmx/htmx.min.js"
CLASSIC = (PACKAGED, "participants/early_press.js")  # the second must run before there is a form to press


def imports_of(name: str) -> set[str]:
    """The modules that one names in its import lines, by their names below static/."""
    text = MODULES[name].read_text()
    named = re.findall(r'^(?:import|export)\b[^;"]*?"(\.[^"]+)";$', text, re.MULTILINE)
    assert len(named) == len(re.findall(r"^import\b|^export .* from\b", text, re.MULTILINE)), f"{name}: odd import"
    static = ROOT.resolve() / "static"
    return {str((static / name).parent.joinpath(one).resolve().relative_to(static)) for one in named}


def with_imports(names: set[str]) -> set[str]:
    """The modules with all that they import, however deep."""
    found: set[str] = set()
    waiting = set(names)
    while waiting:
        name = waiting.pop()
        found.add(name)
        waiting |= imports_of(name) - found
    return found


def scripts_of(path: Path) -> list[str]:
    """The tags of the scripts of a template."""
    return re.findall(r"<script\b[^>]*>", path.read_text())


def script_name(tag: str) -> str:
    """The name below static/ of what a tag loads."""
    return re.search(r"\{% static '([^']+)' %\}", tag)[1]


# --- Modules --------------------------------------------------------------------------------------------------------


def test_every_script_of_ours_is_loaded_as_a_module() -> None:
    for path in TEMPLATES:
        for tag in scripts_of(path):
            is_classic = script_name(tag) in CLASSIC
            assert ('type="module"' in tag) != is_classic, f"{path.name}: {tag}"
            assert (script_name(tag) == PACKAGED) == (script_name(tag) in PACKAGED_ASSETS), f"{path.name}: {tag}"


def test_every_module_is_there_and_wanted() -> None:
    loaded = {script_name(tag) for path in TEMPLATES for tag in scripts_of(path)} - {PACKAGED}
    assert with_imports(loaded) == set(MODULES)


def test_participants_modules_import_none_of_trips() -> None:
    assert [name for name in MODULES if name.startswith("participants/") and "trips/" in str(imports_of(name))] == []


def test_a_device_keeps_every_module_of_a_participants_pages() -> None:
    """A page that is opened offline for the first time finds what its scripts import, and its styles."""
    own = [path for path in TEMPLATES if "my_base.html" in path.read_text()] + [
        ROOT / "templates/participants/my_base.html"
    ]
    assert len(own) > 8
    loaded = {script_name(tag) for path in own for tag in scripts_of(path)}
    assert with_imports(loaded) == set(PACK_MODULES)
    assert all((ROOT / app / "static" / name).is_file() for name in PACK_STYLES for app in [name.split("/")[0]])


def test_what_modules_compute_holds_in_node() -> None:
    tests = sorted(str(path) for path in (ROOT / "tests/scripts").glob("*.test.mjs"))
    done = subprocess.run(
        ["node", "--test", *tests], cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )
    assert len(tests) >= 7
    assert done.returncode == 0, done.stdout + done.stderr


def test_node_reads_our_scripts_as_modules() -> None:
    assert json.loads((ROOT / "package.json").read_text())["type"] == "module"


# --- Styles and templates -------------------------------------------------------------------------------------------


def test_every_colour_of_the_palette_stands_once_with_its_light_and_its_dark_value() -> None:
    """A second list for the dark would be forgotten when one colour changes."""
    screens = [re.sub(r"@media print \{.*?\n\}", "", path.read_text(), flags=re.DOTALL) for path in STYLES]
    screens = [
        re.sub(r'^\[data-bs-theme="night"\] \{.*?\n\}', "", text, flags=re.DOTALL | re.MULTILINE) for text in screens
    ]
    palette = re.findall(r"^  (--(?!bs-)[\w-]+): (.+);$", "\n".join(screens), re.MULTILINE)
    assert len(palette) == len({name for name, _ in palette}) == 18
    assert [name for name, value in palette if not re.fullmatch(r"light-dark\(#\w{6}, #\w{6}\)", value)] == []
    assert not any("prefers-color-scheme" in text for text in screens)


def test_the_night_has_each_colour_of_the_palette_and_they_are_red() -> None:
    look = (ROOT / "config/static/fairhide/look.css").read_text()
    night = look.split('[data-bs-theme="night"] {')[1].split("}")[0]
    own = dict(re.findall(r"(--[\w-]+): #(\w{6})", night))
    assert set(own) == set(re.findall(r"^  (--(?!bs-)[\w-]+): light-dark", look, re.MULTILINE))
    reds = [[int(value[at : at + 2], 16) for at in (0, 2, 4)] for value in own.values()]
    assert all(red >= green >= blue and (green == 0 or red > 2 * green) for red, green, blue in reds)


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_line_of_a_template_is_longer_than_one_of_code(path: Path) -> None:
    assert [number for number, line in enumerate(path.read_text().splitlines(), 1) if len(line) > 120] == []
