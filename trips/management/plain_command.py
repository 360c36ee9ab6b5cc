"""What all commands share: one plain sentence on stderr and a number that says what went wrong."""

import glob
import inspect
import os
import sys
import tempfile
import time
from argparse import RawDescriptionHelpFormatter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser, DjangoHelpFormatter, SystemCheckError
from django.db import OperationalError, ProgrammingError

from trips.selectors.trip_named import NoSuchTrip, SeveralTrips, trip_named_sentence
from trips.services.busy import is_busy, is_unwritable

IMPOSSIBLE, BAD_INPUT, NOTHING_FOUND = 1, 2, 3
STANDARD_STREAM = "-"
LEFTOVER_AGE_S = 3600.0


class Refusal(CommandError):
    """The reason why a command did nothing; `returncode`: 1 impossible, 2 bad input, 3 nothing found in time."""

    def __init__(self, *sentences: str, returncode: int = BAD_INPUT) -> None:
        super().__init__("\n".join(sentences), returncode=returncode)


class _AsWritten(DjangoHelpFormatter, RawDescriptionHelpFormatter):
    """Django's order of options, and lines of examples as they are written."""


class PlainCommand(BaseCommand):
    """A command that answers every refusal with its sentences alone, never with a trace, a class name or its usage.

    Its help is its docstring, unless it has a `help` of its own. `examples`: what follows the command's name.
    """

    examples: tuple[str, ...] = ()

    def __init_subclass__(cls, **kwargs: Any) -> None:
        super().__init_subclass__(**kwargs)
        cls.help = cls.help or inspect.getdoc(cls) or ""

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        """A parser that raises what it cannot read, on the command line too; its help ends with the examples."""
        lines = "\n".join(f"  manage.py {subcommand} {example}".rstrip() for example in self.examples)
        kwargs |= {"epilog": f"examples:\n{lines}" if lines else None, "formatter_class": _AsWritten}
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.called_from_command_line = False
        return parser

    def run_from_argv(self, argv: list[str]) -> None:
        """Read the options and run; options that cannot be read are one sentence."""
        try:
            super().run_from_argv(argv)
        except CommandError as unread:
            self.stderr.write(option_sentence(unread))
            sys.exit(BAD_INPUT)

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Run; a refusal on the command line becomes its sentences and its number."""
        try:
            return self._run(*args, **options)
        except SystemCheckError:
            raise
        except CommandError as refusal:
            if options.get("traceback") or not getattr(self, "_called_from_command_line", False):
                raise
            self.stderr.write(str(refusal))
            sys.exit(refusal.returncode)

    def _run(self, *args: Any, **options: Any) -> str | None:
        try:
            return super().execute(*args, **options)
        except (NoSuchTrip, SeveralTrips) as unknown:
            raise Refusal(trip_named_sentence(unknown)) from unknown
        except (OperationalError, ProgrammingError) as wrong:
            raise Refusal(database_sentence(wrong)) from wrong


def option_sentence(unread: CommandError) -> str:
    """What is wrong with an option or its value, as the parser says it, in one sentence."""
    said = str(unread).removeprefix("Error: ").rstrip(".")
    return f"{said[:1].upper()}{said[1:]}."


def database_sentence(wrong: Exception) -> str:
    """What to do when the database does not answer."""
    text = str(wrong).strip().splitlines()[0]
    if "no such table" in text or "does not exist" in text or "no such column" in text:
        return "The database does not have the tables of this version: run manage.py migrate first."
    if is_busy(wrong):
        return "The database is busy: somebody else has been writing to it for long. Try again in a moment."
    if is_unwritable(wrong):
        return "Nothing can be saved: the database's disk is full, or it can only be read. Make room there."
    return f"The database does not answer ({text}): see to DATABASE_URL and to who may write there."


def read_bytes(name: str, *, at_most: int) -> bytes:
    """The content of a file ("-": standard input), no more than one byte beyond `at_most`."""
    if name == STANDARD_STREAM:
        return sys.stdin.buffer.read(at_most + 1)
    try:
        with Path(name).open("rb") as file:
            return file.read(at_most + 1)
    except (OSError, ValueError) as wrong:
        raise Refusal(f"{name} cannot be read: {reason_words(wrong)}.") from wrong


def write_bytes(name: str, content: bytes) -> None:
    """Write a file whole or not at all ("-": standard output); only its owner may read it."""
    if name == STANDARD_STREAM:
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    path = Path(name)
    try:
        _leftovers_delete(path)
        if path.exists() and not path.is_file():
            path.write_bytes(content)  # a device or a pipe: nothing to replace
            return
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(beside).replace(path)
        except BaseException:
            Path(beside).unlink(missing_ok=True)
            raise
    except (OSError, ValueError) as wrong:
        raise Refusal(f"{name} cannot be written: {reason_words(wrong)}.") from wrong


def _leftovers_delete(path: Path) -> None:
    """What a command that was killed while it wrote this file left beside it; another may be writing it just now."""
    for left in path.parent.glob(f".{glob.escape(path.name)}.????????"):
        if left.stat().st_mtime < time.time() - LEFTOVER_AGE_S:
            left.unlink(missing_ok=True)


def reason_words(wrong: Exception) -> str:
    """Why a file could not be read or written."""
    reason = getattr(wrong, "strerror", None) or str(wrong)
    return reason[:1].lower() + reason[1:]
