"""The whole database as one file, and back: every row with its number, as it stood at one moment.

A file is lines of JSON: a head, one line a row, and an end that proves that the file is whole. Left out is what is
bound to one running server: who is signed in and on which devices, and the queue of the worker; and health notes that
are due to go, with the record of their readings. A restore signs everybody out, ends the links that sign in, and holds
mails that waited; feeds go on.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from io import StringIO
from typing import IO, Any, NoReturn

from django.apps import apps
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.core import serializers
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.core.serializers.base import DeserializationError
from django.core.serializers.json import DjangoJSONEncoder
from django.db import DatabaseError, connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from participants.core.errors import CoreError
from participants.models import AccessLink, Device, HealthNote, HealthReading
from participants.services import SIGN_IN_KINDS, links_end_all
from trips.models import MailState, Notice
from trips.services.health import health_due
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


@dataclass(frozen=True)
class BackupSeen:
    """What is in a backup and what its restore would do. `rows`: by kind of row, in the order of the file.

    `lost`: rows that the database holds now; `sessions`: of leaders and participants now; `links`: that sign in and
    would end; `mails`: that waited and would be held; `sha256`: the digest that the file was found to have.
    """

    made_at: str
    rows: dict[str, int]
    sha256: str
    lost: int
    sessions: int
    links: int
    mails: int


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


def backup_look(stream: IO[bytes]) -> BackupSeen:
    """What a restore of this file would do, read row by row; changes nothing. Raises BackupRefused as a restore does,
    but for what only storing a row can show.
    """
    made_at = str(_parsed(stream.readline()).get("made_at"))
    stream.seek(0)
    end = _check_file(stream)
    rows, links, mails = Counter[str](), 0, 0
    for row in _rows(stream):
        rows[row.object._meta.label_lower] += 1
        links += isinstance(row.object, AccessLink) and row.object.kind in SIGN_IN_KINDS
        mails += isinstance(row.object, Notice) and row.object.mail == MailState.WAITING
    sessions = Session.objects.filter(expire_date__gt=timezone.now()).count()
    return BackupSeen(made_at, dict(rows), str(end["sha256"]), rows_in_use(), sessions, links, mails)


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
    due = health_due(today=timezone.now().date())
    left_out: dict[type[models.Model], dict[str, Any]] = {
        HealthNote: {"pk__in": [note.pk for note in due]},
        HealthReading: {"participant__in": [note.participant_id for note in due]},
    }
    for model in backed_up_models():
        rows = model._base_manager.exclude(**left_out[model]) if model in left_out else model._base_manager.all()
        text = StringIO()
        found = rows.order_by("pk").iterator(chunk_size=BATCH_ROWS)
        serializers.serialize("jsonl", found, stream=text, cls=_WholeEncoder, ensure_ascii=False)
        yield from text.getvalue().split("\n")[:-1]


def _check_file(stream: IO[bytes]) -> dict[str, Any]:
    """Read the file once from end to end: it must be a whole backup of a database with these tables.

    The stream then stands at the first row; the file's last line comes back.
    """
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
    stream.seek(0)
    stream.readline()
    return end


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


def _rows(stream: Iterable[bytes]) -> Iterator[Any]:
    """The rows of a file whose head was read, not stored; a refusal where one is of no kind that a backup holds."""
    kinds, number = set(backed_up_models()), 0
    try:
        for number, line in enumerate(stream, 1):
            text = line.decode("utf-8")
            if text.startswith('{"rows":'):
                break
            (row,) = serializers.deserialize("jsonl", text)
            if type(row.object) not in kinds:
                _refuse(f"row {number} is of a kind that no backup holds")
            yield row
    except (DeserializationError, DatabaseError, ValidationError, ValueError) as wrong:
        _refuse(f"row {number} does not fit ({_first_line(wrong)})")


def _load_rows(stream: Iterable[bytes]) -> int:
    count = 0
    for row in _rows(stream):
        try:
            row.save()
        except (DatabaseError, ValidationError, ValueError) as wrong:
            _refuse(f"row {count + 1} does not fit ({_first_line(wrong)})")
        count += 1
    return count


def _reset_numbers() -> None:
    """The next new row gets a number beyond all that were restored."""
    statements = connection.ops.sequence_reset_sql(no_style(), backed_up_models())
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
