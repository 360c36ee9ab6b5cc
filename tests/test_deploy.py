"""What runs the site elsewhere is read: units of systemd, the container file, compose. Nothing is built or started."""

import re
import shlex
from configparser import ConfigParser
from pathlib import Path
from typing import Any

import pytest
import yaml
from django.core.management import get_commands

ROOT = Path(__file__).resolve().parent.parent
DEPLOY = ROOT / "deploy"
README = (ROOT / "README.md").read_text()
CONTAINER = (DEPLOY / "Containerfile").read_text()
SERVICES: dict[str, dict[str, Any]] = yaml.safe_load((DEPLOY / "compose.yaml").read_text())["services"]
HOUSE = ("web", "worker", "migrate")


def known(command: list[str]) -> bool:
    """Whether it is gunicorn on the house's door, or one of its commands."""
    if "manage.py" in command:
        return command[command.index("manage.py") + 1] in get_commands()
    return command[0].endswith("gunicorn") and command[1] == "config.wsgi"


@pytest.mark.parametrize("path", sorted(DEPLOY.glob("*.service")), ids=lambda path: path.stem)
def test_a_unit_starts_what_there_is_and_comes_back(path: Path) -> None:
    unit = ConfigParser(strict=False, interpolation=None)
    unit.optionxform = str  # type: ignore[assignment,method-assign]
    unit.read_string(path.read_text())
    starts = re.findall(r"^ExecStart=(.+)$", path.read_text(), re.MULTILINE)
    assert starts
    assert all(known(shlex.split(start)) for start in starts)
    service = dict(unit["Service"])
    assert service["User"] != "root"
    assert service.get("Type") == "oneshot" or (service["Restart"], service["RestartSec"]) == ("always", "5")
    assert path.name in README


def test_the_container_has_what_bootstrap_asks_for_and_does_not_run_as_root() -> None:
    wanted = re.search(r"^wanted=\(([^)]+)\)", (ROOT / "script" / "bootstrap").read_text(), re.MULTILINE)
    assert wanted
    assert set(wanted[1].split()) <= set(CONTAINER.split())
    major, minor = re.findall(r"^FROM python:(\d+)\.(\d+)", CONTAINER, re.MULTILINE)[0]
    assert (int(major), int(minor)) >= (3, 11)
    copied = re.findall(r"^COPY (\S+) ", CONTAINER, re.MULTILINE)
    assert [name for name in copied if not (ROOT / name).exists()] == []
    assert {"config", "participants", "trips", "templates", "locale", "docs"} <= set(copied)
    assert re.findall(r"^USER (\w+)", CONTAINER, re.MULTILINE)[-1:] == ["fairhide"]


def test_compose_runs_web_and_worker_behind_a_proxy_that_alone_is_open() -> None:
    assert {"proxy", "web", "worker", "database"} <= SERVICES.keys()
    assert [name for name, service in SERVICES.items() if "ports" in service] == ["proxy"]
    assert all(known(SERVICES[name]["command"]) for name in HOUSE)
    assert [name for name in SERVICES if "restart" not in SERVICES[name]] == []
    address = SERVICES["proxy"]["networks"]["house"]["ipv4_address"]
    assert SERVICES["web"]["environment"]["TRUSTED_PROXIES"] == address
    assert SERVICES["web"]["command"][-2:] == ["--forwarded-allow-ips", address]
    assert "reverse_proxy web:8000" in (DEPLOY / "Caddyfile").read_text()


@pytest.mark.parametrize("name", HOUSE)
def test_compose_sets_what_the_readme_names(name: str) -> None:
    settings = set(re.findall(r"^\| `([A-Z_]+)` \|", README, re.MULTILINE))
    environment = SERVICES[name]["environment"]
    assert {"SECRET_KEY", "ALLOWED_HOSTS", "DATABASE_URL"} <= environment.keys() <= settings
    assert "@database/" in environment["DATABASE_URL"]
    assert environment == SERVICES["web"]["environment"]
