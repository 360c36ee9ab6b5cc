"""The project keeps the rules of the house, and the rules catch what breaks them."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture_rules import FILE_LINES, faults
from tests.architecture_source import Fault, read_modules

ROOT = Path(__file__).resolve().parent.parent
SIZE_KINDS = ("size",)

# One planted fault of each kind: the file, what stands in it, the kind that must be reported.
PLANTED = {
    "core imports a service": ("trips/core/sun.py", "from trips.services import papers\n", "floor"),
    "a model imports a selector": ("trips/models/trip.py", "from trips.selectors import trips\n", "floor"),
    "a service imports a view": ("trips/services/rota.py", "from trips.views import rota\n", "floor"),
    "a view imports the house": ("trips/views/rota.py", "from config import settings\n", "floor"),
    "participants import trips": ("participants/views.py", "import trips.selectors.papers\n", "participants"),
    "django in the core": ("trips/documents/ical.py", "from django.utils import timezone\n", "framework"),
    "django's settings in the core": ("participants/core/exif.py", "import django.conf\n", "framework"),
    "a clock in the core": ("trips/core/heat.py", "import datetime\n\nX = datetime.datetime.now()\n", "clock"),
    "today in the core": ("trips/core/calls.py", "from datetime import date\n\nX = date.today()\n", "clock"),
    "a monotonic clock in the core": (
        "trips/core/heat.py",
        "import time\n\nX = time.monotonic()\n",
        "clock",
    ),
    "a clock under another name in the core": (
        "trips/core/heat.py",
        "from time import perf_counter as count\n\nX = count()\n",
        "clock",
    ),
    "a pause in the core": ("trips/core/rota/model/stages.py", "from time import sleep\n\nsleep(1)\n", "clock"),
    "a resource in the core": (
        "trips/core/light.py",
        "from importlib.resources import files\n\nX = files('tzdata')\n",
        "file",
    ),
    "a resource's module in the core": ("trips/core/light.py", "import importlib.resources\n", "file"),
    "a file in the core": ("trips/core/light.py", "X = open('x')\n", "file"),
    "a hidden own import": ("trips/services/log.py", "def f():\n    import trips.models.site\n", "hidden"),
    "a hidden import in a method": (
        "trips/admin.py",
        "class A:\n    def f(self):\n        if 1:\n            from trips.models import site\n",
        "hidden",
    ),
    "the solver at the top": ("trips/core/rota/search/solve.py", "from ortools.sat.python import cp_model\n", "solver"),
    "the checker knows the solver": (
        "trips/core/rota/check/checker.py",
        "from trips.core.rota.model import stages\n",
        "rooms",
    ),
    "the checker counts with the planner": (
        "trips/core/rota/check/tallies.py",
        "from trips.core.rota.problem import shares\n",
        "rooms",
    ),
    "a room without a word": ("trips/core/rota/edit/__init__.py", "", "rooms"),
    "the solver knows the checker": (
        "trips/core/rota/search/solve.py",
        "from trips.core.rota.check import checker\n",
        "rooms",
    ),
    "a query in a view": ("trips/views/site.py", "def _x(Site):\n    return Site.objects.all()\n", "query"),
    "a state compared with a text": (
        "trips/services/rota.py",
        "def f(rota):\n    return rota.state == 'issued'\n",
        "state",
    ),
    "a state among texts": (
        "trips/selectors/papers.py",
        "def f(place):\n    return place.state not in ('invited', 'confirmed')\n",
        "state",
    ),
    "rows of a state by its text": (
        "trips/services/rota.py",
        "def f(places):\n    return places.filter(rota__state__in=['issued'])\n",
        "state",
    ),
    "a signal": ("trips/services/site.py", "from django.db.models.signals import post_save\n", "signal"),
    "logic in save": ("trips/models/site.py", "class A:\n    def save(self):\n        pass\n", "save"),
    "a long function": ("trips/core/sun.py", "def f():\n" + "    x = 1\n" * 40, "size"),
    "a long view": ("trips/views/day.py", "def _f(x):\n" + "    x = 1\n" * 25, "size"),
    "a long file": ("trips/core/sun.py", "X = 1\n" * (FILE_LINES + 1), "size"),
    "a long test file": ("tests/trips/test_sun.py", "X = 1\n" * (FILE_LINES + 1), "size"),
    "a long module of the pages' tests": ("tests/scripts/queue.test.mjs", "x()\n" * (FILE_LINES + 1), "size"),
    "a sleep in a test": ("tests/trips/test_sun.py", "import time\n\ntime.sleep(1)\n", "pause"),
    "a pause of a page in a test": ("tests/browser/test_sun.py", "page.wait_for_timeout(300)\n", "pause"),
    "the real clock in a test": ("tests/trips/test_sun.py", "from x import timezone\n\nX = timezone.now()\n", "clock"),
    "many arguments": ("trips/core/sun.py", "def f(a, b, c, d, *, e, f, g): ...\n", "size"),
    "a room without a floor": ("trips/attic.py", "", "room"),
    "a class of another's name": ("trips/core/calls.py", "class CoreError: ...\n", "name"),
    "a drawer for everything": ("trips/core/utils.py", "", "name"),
    "a name of the standard library": ("trips/documents/calendar.py", "", "name"),
    "a view without methods": ("trips/views/day.py", "def day_show(request):\n    pass\n", "methods"),
}

CLEAN = {
    "participants/__init__.py": "",
    "participants/core/errors.py": "class CoreError(Exception): ...\n",
    "participants/core/exif.py": "",
    "participants/views.py": "",
    "trips/core/rota/problem/values.py": "from participants.core.errors import CoreError\n",
    "trips/core/rota/problem/shares.py": "from trips.core.rota.problem.values import CoreError\n",
    "trips/core/rota/model/stages.py": "def f():\n    from ortools.sat.python import cp_model\n",
    "trips/core/rota/check/checker.py": "from trips.core.rota.problem.values import CoreError\n",
    "trips/models/__init__.py": "from trips.models.site import Site\n",
    "trips/models/site.py": "class Site: ...\n",
    "trips/selectors/__init__.py": "",
    "trips/selectors/papers.py": "from trips.models import Site\n",
    "trips/services/papers.py": "from trips.core.rota.check import checker\nfrom trips.selectors import papers\n",
    "tests/waiting.py": "import time\n\ntime.sleep(1)\n",
    "tests/trips/test_slow.py": "import time\n\ntime.sleep(1)  # the pause is the subject\n",
    "tests/trips/test_now.py": "def test_now(clock):\n    assert timezone.now()\n",
    "tests/node_modules/reader/reader.mjs": "x()\n" * (FILE_LINES + 1),
    "trips/views/rota.py": (
        "from trips.services import papers\n\n\n@require_safe\ndef rota_show(request):\n    return papers\n"
    ),
    "config/settings.py": "",
}


def plant(root: Path, extra: dict[str, str]) -> Path:
    for name, text in {**CLEAN, **extra}.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return root


def shown(found: list[Fault]) -> str:
    return "\n" + "\n".join(str(fault) for fault in found)


@pytest.fixture(scope="module")
def project_faults() -> list[Fault]:
    """Reading the whole tree takes seconds, so it is done once."""
    return faults(ROOT)


def test_the_project_keeps_every_rule_of_structure(project_faults: list[Fault]) -> None:
    found = [fault for fault in project_faults if fault.kind not in SIZE_KINDS]
    assert not found, shown(found)


def test_nothing_is_larger_than_agreed(project_faults: list[Fault]) -> None:
    found = [fault for fault in project_faults if fault.kind in SIZE_KINDS]
    assert not found, shown(found)


def test_the_rules_look_at_the_whole_project() -> None:
    names = set(read_modules(ROOT))
    assert {"config.settings", "participants.core.gear", "trips.core.values", "trips.models.trip"} <= names
    assert len(names) > 40


def test_a_clean_house_has_no_fault(tmp_path: Path) -> None:
    assert faults(plant(tmp_path, {})) == []


@pytest.mark.parametrize("case", PLANTED)
def test_a_planted_fault_is_caught(tmp_path: Path, case: str) -> None:
    name, text, kind = PLANTED[case]
    found = faults(plant(tmp_path, {name: text}))
    module = name.removesuffix(".py").removesuffix(".mjs").removesuffix("/__init__").replace("/", ".")
    assert (kind, module) in {(fault.kind, fault.module) for fault in found}, shown(found)


def test_a_planted_circle_is_caught_around_a_corner(tmp_path: Path) -> None:
    ring = {
        "trips/core/sun.py": "from trips.core import light\n",
        "trips/core/light.py": "from trips.core.daylight import x\n",
        "trips/core/daylight.py": "import trips.core.sun\n",
    }
    found = [fault for fault in faults(plant(tmp_path, ring)) if fault.kind == "circle"]
    assert [fault.text for fault in found] == [
        "a circle of imports: trips.core.daylight, trips.core.light, trips.core.sun"
    ]


def test_neither_solver_nor_printer_is_loaded_before_it_is_asked() -> None:
    """Web processes stay small and commands begin at once: these libraries come in only where they work."""
    program = (
        "import django, sys; django.setup(); from django.urls import get_resolver; get_resolver().url_patterns;"
        "[p for p in get_resolver().reverse_dict]; print(*{'ortools', 'weasyprint'} & {*sys.modules})"
    )
    environment = {"DJANGO_SETTINGS_MODULE": "config.settings", "PATH": "/usr/bin:/bin"}
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout.split()) == (0, []), done.stderr
