"""The repository's documents are held against the code."""

import re
from pathlib import Path

import pytest
from django.apps import apps
from django.db.models import Field, Model

from tests.architecture_rules import ROTA_ROOMS
from trips.core.rota.search import strategies

ROOT = Path(__file__).resolve().parent.parent
DOCS = sorted((ROOT / "docs").rglob("*.md"))
PAPERS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *DOCS]
ARCHITECTURE = (ROOT / "docs" / "architecture.md").read_text()


def relation(model: type[Model], field: "Field[object, object]") -> str:
    """A relation as the data model's picture writes it."""
    other = field.related_model
    assert isinstance(other, type)
    name = "Leader" if other.__name__ == "User" else other.__name__
    ends = "}o--o{" if field.many_to_many else "|o--||" if field.one_to_one else "}o--o|" if field.null else "}o--||"
    return f"{model.__name__} {ends} {name} : {field.name}"


def own_models() -> list[type[Model]]:
    return [model for app in ("participants", "trips") for model in apps.get_app_config(app).get_models()]


@pytest.mark.parametrize("paper", PAPERS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_link_leads_to_a_file(paper: Path) -> None:
    targets = re.findall(r"\]\(([^)#]+)[^)]*\)", paper.read_text())
    inside = [target for target in targets if not target.startswith("http")]
    assert [target for target in inside if not (paper.parent / target).exists()] == []


def test_the_data_model_shows_every_row_and_relation() -> None:
    drawn = set(re.findall(r"^    (\w+ [|}]o--(?:\|\||o\||o\{) \w+ : \w+)$", ARCHITECTURE, re.MULTILINE))
    wanted = {
        relation(model, field)
        for model in own_models()
        for field in [*model._meta.fields, *model._meta.many_to_many]
        if field.is_relation
    }
    assert drawn == wanted
    named = set(re.findall(r"^    ([A-Z]\w+)\b", ARCHITECTURE, re.MULTILINE))
    assert named == {model.__name__ for model in own_models()}


def test_the_picture_of_the_rooms_shows_what_each_may_import() -> None:
    rooms = ARCHITECTURE.partition("## Rooms of the rota")[2].partition("## Data model")[0]
    arrows = set(re.findall(r"^    (\w+) -(?:->|\. .*? \.->) (\w+)$", rooms, re.MULTILINE))
    allowed = {(room, target.split(".")[0]) for room, below in ROTA_ROOMS.items() for target in below}
    reached = {(room, far) for room, near in arrows for low, far in arrows if near == low} | arrows
    assert arrows <= allowed
    assert allowed <= reached, "a room may import what its own rooms import, and nothing that the picture hides"
    assert set(re.findall(r"^\| `(\w+)` \|", rooms, re.MULTILINE)) == set(ROTA_ROOMS)


def test_every_decision_is_in_the_list() -> None:
    folder = ROOT / "docs" / "decisions"
    listed = set(re.findall(r"\]\(([\w-]+\.md)\)", (folder / "README.md").read_text()))
    assert listed == {path.name for path in folder.glob("*.md")} - {"README.md"}


def test_the_thresholds_told_are_those_of_the_planner() -> None:
    text = (ROOT / "docs" / "rota.md").read_text()
    told = {name: int(value) for name, value in re.findall(r"^\| `(\w+)` \| (\d+) \|", text, re.MULTILINE)}
    assert len(told) == 5
    assert told == {name: getattr(strategies, name) for name in told}


def test_modules_named_in_the_account_of_the_planner_exist() -> None:
    text = (ROOT / "docs" / "rota.md").read_text()
    named = set(re.findall(r"`((?:search|model|problem|check)/\w+)(?:\.py)?`", text))
    rota = ROOT / "trips" / "core" / "rota"
    assert len(named) > 8
    assert [name for name in named if not (rota / name).is_dir() and not (rota / f"{name}.py").exists()] == []


def test_the_tour_is_short() -> None:
    assert len((ROOT / "DEVELOPERS.md").read_bytes()) <= 6000


def test_the_offline_protocol_names_every_attribute() -> None:
    text = (ROOT / "docs" / "offline.md").read_text()
    told = set(re.findall(r"^\| `(data-[a-z-]+)` \|", text, re.MULTILINE))
    used = {
        name
        for path in (ROOT / "templates").rglob("*.html")
        for name in re.findall(r"data-(?:queue[a-z-]*|online|note|when-[a-z]+)(?=[=\s>{\"])", path.read_text())
    }
    assert told == used
