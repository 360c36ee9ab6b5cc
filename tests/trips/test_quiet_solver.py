"""What a command prints is the rota alone."""

import subprocess
import sys

from django.conf import settings

GREETED = "from trips.management.quiet_solver import greet_unheard; greet_unheard(); print('a rota')\n"


def test_the_solver_greets_nobody() -> None:
    code = GREETED + "import highspy; highspy.Highs(); greet_unheard(); print('another')"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=settings.BASE_DIR
    )
    assert done.stdout == "a rota\nanother\n"
