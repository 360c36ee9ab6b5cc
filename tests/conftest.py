"""What every test shares: quick passwords, and the marks that script/test chooses by."""

from collections.abc import Generator
from pathlib import Path

import pytest
import pytest_django
from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from config.catalogues import compile_all
from tests.frozen_clock import clock  # noqa: F401
from tests.plain_pages import read_plainly

# A file runs on one worker. Begun last, these would each keep one busy while the other has nothing left to do.
LONGEST_FILES = (
    "test_every_page.py",
    "test_demo.py",
    "test_making_worker.py",
    "test_nasty_input.py",
    "test_access.py",
    "test_trade_cases.py",
    "test_leader_journey.py",
    "test_participant_phone.py",
    "test_participant_trouble_phone.py",
)
BROWSER_FOLDER = Path(__file__).resolve().parent / "browser"


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> Generator[None]:
    """Mark what touches the database and what drives a browser (before -m chooses); then the longest files first."""
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        if item.get_closest_marker("django_db") or fixtures & {"db", "transactional_db", "live_server"}:
            item.add_marker("database")
        if BROWSER_FOLDER in Path(item.path).parents:
            item.add_marker("browser")
    yield
    items.sort(key=lambda item: Path(item.path).name not in LONGEST_FILES)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    request: pytest.FixtureRequest,
    tmp_path_factory: pytest.TempPathFactory,
    django_db_modify_db_settings_parallel_suffix: None,
) -> None:
    """With browser tests in the run SQLite keeps a file: the live server's threads have connections of their own."""
    default = settings.DATABASES["default"]
    with_browser = any(item.get_closest_marker("browser") for item in request.session.items)
    if with_browser and default["ENGINE"].endswith("sqlite3"):
        default.setdefault("TEST", {})["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")


@pytest.fixture(scope="session")
def django_db_use_migrations(django_db_use_migrations: bool) -> bool:
    """SQLite's tables are made from the models at once: step by step they take many times as long.

    That both ways end alike is for `makemigrations --check`; PostgreSQL's run and the demo go through every step.
    """
    return django_db_use_migrations and not settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")


@pytest.fixture(scope="session")
def django_db_setup(
    django_db_setup: None, django_db_use_migrations: bool, django_db_blocker: pytest_django.DjangoDbBlocker
) -> None:
    """Tables made at once count as migrated, for what asks how far they are: backups, and tests of a migration."""
    if django_db_use_migrations:
        return
    settings.MIGRATION_MODULES = {}
    with django_db_blocker.unblock():
        recorder = MigrationRecorder(connection)
        recorder.ensure_schema()
        for app, name in MigrationLoader(connection).disk_migrations:
            recorder.record_applied(app, name)


@pytest.fixture(scope="session", autouse=True)
def _house_for_tests() -> None:
    """Quick hashes of passwords, links to the test client, pages as people see them, translations up to date.

    Static files are looked for when one is asked for: every new test client would list them all anew, which takes
    longer than most pages.
    """
    read_plainly()
    compile_all()
    settings.WHITENOISE_AUTOREFRESH = True
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.PUBLIC_URL = "http://testserver"
