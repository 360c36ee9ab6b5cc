"""Run a command as the command line does, inside the test's own database."""

import io
from dataclasses import dataclass
from typing import Any

from django.core.management import load_command_class


@dataclass(frozen=True)
class Ran:
    """What a command answered."""

    code: int
    out: str
    err: str


def run(name: str, *arguments: Any, app: str = "trips") -> Ran:
    """Parse the arguments and execute; the exit code is that of manage.py."""
    out, err = io.StringIO(), io.StringIO()
    command = load_command_class(app, name)
    command._called_from_command_line = True
    options = vars(command.create_parser("manage.py", name).parse_args([str(argument) for argument in arguments]))
    options |= {"stdout": out, "stderr": err, "skip_checks": True}
    try:
        command.execute(**options)
    except SystemExit as end:
        return Ran(int(end.code or 0), out.getvalue(), err.getvalue())
    return Ran(0, out.getvalue(), err.getvalue())
