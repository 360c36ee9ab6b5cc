"""The house with an environment of its own."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def manage(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """manage.py in an empty environment."""
    command = [sys.executable, str(ROOT / "manage.py"), *arguments]
    environment = {"PATH": os.environ["PATH"]} | environment
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False, cwd=ROOT)
