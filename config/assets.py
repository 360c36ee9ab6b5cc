"""Where static files come from: our own apps, and single files of installed packages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.finders import AppDirectoriesFinder, BaseFinder
from django.core.checks import CheckMessage
from django.core.files.storage import FileSystemStorage
from whitenoise.storage import CompressedManifestStaticFilesStorage

OWN_APPS = ("config", "participants", "trips", "django.contrib.admin")


class OwnAppsFinder(AppDirectoriesFinder):
    """The static folders of our own apps and the admin's; other packages bring more files than pages use."""

    def __init__(self, app_names: Iterable[str] | None = None, *args: Any, **kwargs: Any) -> None:
        super().__init__(app_names or OWN_APPS, *args, **kwargs)


class PackagedFiles(FileSystemStorage):
    """A read-only storage over `settings.PACKAGED_ASSETS`."""

    def __init__(self) -> None:
        super().__init__(location=settings.BASE_DIR)

    def path(self, name: str) -> str:
        """The real path of a packaged file."""
        return str(packaged_path(settings.PACKAGED_ASSETS[name.replace("\\", "/")]))


class PackageFinder(BaseFinder):
    """The packaged files that `settings.PACKAGED_ASSETS` names, and no others."""

    storage = PackagedFiles()

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        """The real path of one file below STATIC_URL, or an empty list."""
        source = settings.PACKAGED_ASSETS.get(path)
        if source is None:
            return []
        found = str(packaged_path(source))
        return [found] if find_all or kwargs.get("all") else found

    def check(self, **kwargs: Any) -> list[CheckMessage]:
        """Nothing to check here: config.checks says which package is missing."""
        return []

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterator[tuple[str, FileSystemStorage]]:
        """Every file with the storage that opens it."""
        for name in settings.PACKAGED_ASSETS:
            yield name, self.storage


class HashedStorage(CompressedManifestStaticFilesStorage):
    """Hashed, compressed names after collectstatic; plain names before it (tests, a developer's first look).

    What a module imports is named by its hash too, so a browser never mixes modules of two versions.
    """

    support_js_module_import_aggregation = True

    def stored_name(self, name: str) -> str:
        """The name that a page links to."""
        return super().stored_name(name) if self.hashed_files else name


def packaged_path(source: Traversable) -> Path:
    """The file behind a packaged resource (packages are installed unzipped)."""
    return Path(str(source))
