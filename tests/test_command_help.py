"""Each command's help ends with an example that the command can read."""

import re
import shlex
from pathlib import Path

import pytest
from django.core.management import load_command_class

ROOT = Path(__file__).resolve().parent.parent
COMMANDS = sorted(
    (path.parts[-4], path.stem) for path in ROOT.glob("*/management/commands/*.py") if path.stem != "__init__"
)


@pytest.mark.parametrize(("app", "name"), COMMANDS, ids=[name for _, name in COMMANDS])
def test_the_help_has_an_example_that_the_command_reads(app: str, name: str) -> None:
    parser = load_command_class(app, name).create_parser("manage.py", name)
    shown = " ".join(text for text in (parser.description, parser.epilog) if text)
    examples = re.findall(rf"manage\.py {name}\b[^\n]*", shown.partition("xample")[2])
    assert examples
    for example in examples:
        parser.parse_args(shlex.split(example)[2:])
