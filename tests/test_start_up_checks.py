"""Start-up checks: each is made to fail by taking away what it looks for."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.utils import timezone

from config import checks
from tests.own_house import manage


def break_time_zones(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    def nothing(name: str) -> None:
        raise checks.ZoneInfoNotFoundError(name)

    monkeypatch.setattr(checks, "ZoneInfo", nothing)


def break_assets(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    settings.PACKAGED_ASSETS = settings.PACKAGED_ASSETS | {"font/regular.ttf": Path("/nowhere/regular.ttf")}


def break_libraries(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    monkeypatch.setattr(checks, "LIBRARIES", {"libnot-there-at-all.so.0": "libharfbuzz-subset0"})


def break_fonts(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    monkeypatch.setattr(checks.shutil, "which", lambda name: None)


def break_database_file(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    monkeypatch.setitem(settings.DATABASES["default"], "NAME", "/nowhere/x.sqlite3")
    monkeypatch.setitem(settings.DATABASES["default"], "ENGINE", "django.db.backends.sqlite3")


@pytest.mark.parametrize(
    ("check", "breaks", "number", "advice"),
    [
        (checks.time_zones, break_time_zones, "fairhide.E001", "script/bootstrap"),
        (checks.packaged_assets, break_assets, "fairhide.E002", "script/bootstrap"),
        (checks.system_libraries, break_libraries, "fairhide.E003", "apt-get install"),
        (checks.fonts, break_fonts, "fairhide.E004", "fonts-noto-cjk fonts-noto-core"),
        (checks.database_file, break_database_file, "fairhide.E005", "DATABASE_URL"),
    ],
)
def test_a_start_up_check_passes_here_and_names_what_is_missing(
    monkeypatch: pytest.MonkeyPatch,
    settings: Any,
    check: Callable[..., Any],
    breaks: Callable[..., None],
    number: str,
    advice: str,
) -> None:
    assert check(None) == []
    breaks(monkeypatch, settings)
    (message,) = check(None)
    assert message.id == number
    assert advice in message.hint


def test_a_database_that_does_not_answer_is_named() -> None:
    dead = manage("check", "--database", "default", DATABASE_URL="postgres://x@127.0.0.1:1/x")
    assert dead.returncode == 1
    assert "fairhide.E006" in dead.stderr
    assert "Traceback" not in dead.stderr


@pytest.mark.django_db
@pytest.mark.usefixtures("clock")
def test_work_that_nobody_takes_up_is_noticed() -> None:
    from django_tasks_db.models import DBTaskResult

    assert checks.worker_runs(None, databases=["default"]) == []
    row = DBTaskResult.objects.create(
        args_kwargs={"args": [], "kwargs": {}}, task_path="x.y", backend_name="default", queue_name="default"
    )
    assert checks.worker_runs(None, databases=["default"]) == []
    DBTaskResult.objects.filter(pk=row.pk).update(enqueued_at=timezone.now() - 2 * checks.WORKER_PATIENCE)
    (message,) = checks.worker_runs(None, databases=["default"])
    assert message.id == "fairhide.W001"
    assert checks.worker_runs(None, databases=None) == []


@pytest.mark.parametrize(
    ("changed", "reason"),
    [({"DEBUG": True}, "DEBUG"), ({"SECRET_KEY": "short"}, "SECRET_KEY"), ({"ALLOWED_HOSTS": []}, "ALLOWED_HOSTS")],
    ids=["debug", "a key that can be guessed", "no name of the site"],
)
def test_what_is_never_right_for_a_site_that_others_reach_stops_its_start(
    settings: Any, changed: dict[str, Any], reason: str
) -> None:
    settings.PUBLIC_URL, settings.ALLOWED_HOSTS = "https://rota.example.org", ["rota.example.org"]
    checks.require_safe_start()
    for name, value in changed.items():
        setattr(settings, name, value)
    with pytest.raises(ImproperlyConfigured, match=reason):
        checks.require_safe_start()
    settings.PUBLIC_URL = "http://127.0.0.1:8000"
    checks.require_safe_start()


def test_an_error_stops_the_start_on_ones_own_machine_too(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    settings.PUBLIC_URL = "http://127.0.0.1:8000"
    break_fonts(monkeypatch, settings)
    with pytest.raises(ImproperlyConfigured, match="apt-get install"):
        checks.require_safe_start()
