"""A task for tests of a busy database: it ends when it is told to."""

from pathlib import Path

from django.contrib.auth import get_user_model
from django_tasks import task

from tests.waiting import until


@task()
def wait_and_write(folder: str, username: str) -> str:
    """Say "started", wait for "go", and make that user (none for an empty name)."""
    (Path(folder) / "started").touch()
    until((Path(folder) / "go").exists, within_s=240, what="go")
    if username:
        get_user_model().objects.create_user(username=username)
    return "written"
