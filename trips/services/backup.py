"""The whole database as one file, and back: every row with its number, as it stood at one moment.

A file is lines of JSON: a head, one line a row, and an end that proves that the file is whole. Left out is what is
bound to one running server: who is signed in and on which devices, and the queue of the worker. A restore signs
everybody out, ends the links that sign in, and holds mails that waited; feeds go on.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from io import StringIO
from typing import IO, Any, NoReturn

from django.apps import apps
from django.contrib.contenttypes.models import ContentType
from django.core import serializers
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.core.serializers.base import DeserializationError
from django.core.serializers.json import DjangoJSONEncoder
from django.db import DatabaseError, connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from participants.core.errors import CoreError
from participants.models import Device
from participants.services import links_end_all
from trips.services.notices import notices_hold
from trips.services.snapshot import snapshot

FORMAT = "fairhide backup"
FORMAT_VERSION = 1
APPS = ("contenttypes", "auth", "admin", "participants", "trips")
# Filled by every new database, so they do not make one count as in use.
MADE_BY_MIGRATIONS = ("contenttypes.contenttype", "auth.permission")
# Sign-ins stay on the server that let them in.
LEFT_OUT = (Device,)
BATCH_ROWS = 500  # rows in memory at once


class BackupRefused(CoreError):
    """A backup that cannot be restored: `sentence` says why."""


class DatabaseInUse(CoreError):
    """The database to restore into holds rows already: `rows`."""


class _WholeEncoder(DjangoJSONEncoder):
    """Moments with all their digits."""

    def default(self, value: Any) -> Any:
        if isinstance(value, datetime | date | time):
            return value.isoformat()
        return super().default(value)


def backup_write(stream: IO[bytes]) -> int:
    """Write the whole database to `stream`; returns the number of rows."""
    digest, count = hashlib.sha256(), 0
    with snapshot():
        head = {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "made_at": timezone.now().isoformat(),
            "migrations": _migrations(),
        }
        for line in (json.dumps(head), *_row_lines()):
            data = (line + "\n").encode("utf-8")
            digest.update(data)
            stream.write(data)
            count += 1
    stream.write((json.dumps({"rows": count - 1, "sha256": digest.hexdigest()}) + "\n").encode("utf-8"))
    return count - 1


def backup_restore(stream: IO[bytes], *, replace: bool = False) -> int:
    """Make the database what it was when the file was written, with nobody signed in; returns the number of rows.

    `stream` can be read twice (seek). `replace`: throw away what the database holds. Raises BackupRefused or
    DatabaseInUse, and then nothing has changed.
    """
    _check_file(stream)
    stream.seek(0)
    stream.readline()
    with transaction.atomic():
        in_use = rows_in_use()
        if in_use and not replace:
            raise DatabaseInUse(rows=in_use)
        _empty_tables()
        count = _load_rows(stream)
        links_end_all()
        notices_hold()
        try:
            connection.check_constraints()
        except DatabaseError as wrong:
            _refuse(f"a row in it names one that is not there ({_first_line(wrong)})")
        _reset_numbers()
    ContentType.objects.clear_cache()
    return count


def rows_in_use() -> int:
    """How many rows the database holds beyond those that every new database has."""
    return sum(
        model._base_manager.count() for model in backed_up_models() if model._meta.label_lower not in MADE_BY_MIGRATIONS
    )


def backed_up_models() -> list[type[models.Model]]:
    """Every kind of row in a backup, those that others name first."""
    configs = [(apps.get_app_config(label), None) for label in APPS]
    return [model for model in serializers.sort_dependencies(configs) if model not in LEFT_OUT]


def _migrations() -> dict[str, str]:
    """The last migration of each app."""
    applied = MigrationRecorder(connection).applied_migrations()
    return {label: max(name for app, name in applied if app == label) for label in APPS}


def _row_lines() -> Iterator[str]:
    for model in backed_up_models():
        rows = model._base_manager.order_by("pk").iterator(chunk_size=BATCH_ROWS)
        text = StringIO()
        serializers.serialize("jsonl", rows, stream=text, cls=_WholeEncoder, ensure_ascii=False)
        yield from text.getvalue().split("\n")[:-1]


def _check_file(stream: IO[bytes]) -> None:
    """Read the file once from end to end: it must be a whole backup of a database with these tables."""
    digest, count, last = hashlib.sha256(), -1, b""
    for line in stream:
        if count < 0:
            _check_head(line)
        if last:
            digest.update(last)
        last, count = line, count + 1
    end = _parsed(last)
    if count < 1 or set(end) != {"rows", "sha256"}:
        _refuse("it breaks off before its end")
    if end["rows"] != count - 1 or end["sha256"] != digest.hexdigest():
        _refuse("it was changed or damaged after it was made")


def _check_head(line: bytes) -> None:
    head = _parsed(line)
    if head.get("format") != FORMAT:
        _refuse("it is no file of the backup command")
    if head.get("format_version") != FORMAT_VERSION:
        _refuse(f"it has version {head.get('format_version')!r} of the format, not {FORMAT_VERSION}")
    there, here = head.get("migrations"), _migrations()
    if there != here:
        other = there if isinstance(there, dict) else {}
        different = ", ".join(f"{app} {other.get(app)}" for app in APPS if other.get(app) != here[app])
        _refuse(f"it was made with other tables ({different}): restore it with the version that made it, then migrate")


def _parsed(line: bytes) -> dict[str, Any]:
    try:
        found = json.loads(line)
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def _refuse(reason: str) -> NoReturn:
    raise BackupRefused(sentence=f"The backup cannot be restored: {reason}.")


def _first_line(wrong: Exception) -> str:
    return str(wrong).strip().splitlines()[0]


def _empty_tables() -> None:
    """Take every row out of every table, also of those a backup leaves out; references are looked at later."""
    tables = set(connection.introspection.django_table_names(only_existing=True, include_views=False))
    with connection.cursor() as cursor:
        for table in sorted(tables - {MigrationRecorder.Migration._meta.db_table}):
            cursor.execute(f"DELETE FROM {connection.ops.quote_name(table)}")


def _load_rows(stream: Iterable[bytes]) -> int:
    count, kinds = 0, set(backed_up_models())
    try:
        for line in stream:
            text = line.decode("utf-8")
            if text.startswith('{"rows":'):
                break
            for row in serializers.deserialize("jsonl", text):
                if type(row.object) not in kinds:
                    _refuse(f"row {count + 1} is of a kind that no backup holds")
                row.save()
                count += 1
    except (DeserializationError, DatabaseError, ValidationError, ValueError) as wrong:
        _refuse(f"row {count + 1} does not fit ({_first_line(wrong)})")
    return count


def _reset_numbers() -> None:
    """The next new row gets a number beyond all that were restored."""
    statements = connection.ops.sequence_reset_sql(no_style(), backed_up_models())
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
