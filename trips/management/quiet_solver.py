"""Standard output belongs to whoever asked for a rota, not to the solver."""

import os
import sys
from ctypes import CDLL
from functools import cache


@cache
def greet_unheard() -> None:
    """Let the solver of branch and bound greet into nothing: the first of a process prints two lines about itself."""
    import highspy

    sys.stdout.flush()
    heard, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        highspy.Highs()
        CDLL(None).fflush(None)
    finally:
        os.dup2(heard, 1)
        os.close(heard)
        os.close(nowhere)
