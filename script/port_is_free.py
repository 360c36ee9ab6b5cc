"""Whether a local port is free (exit 0) or in use (exit 1); with --until-taken wait until somebody answers there."""

import socket
import sys
import time

PATIENCE_S = 30.0


def is_free(port: int) -> bool:
    """Whether a server could listen at 127.0.0.1 on that port now."""
    with socket.socket() as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind(("127.0.0.1", port))
        except PermissionError:
            sys.exit(f"Port {port} is only for the superuser: take one above 1023.")
        except OSError:
            return False
    return True


def answers(port: int) -> bool:
    """Whether somebody takes a connection there."""
    with socket.socket() as tried:
        tried.settimeout(1.0)
        return tried.connect_ex(("127.0.0.1", port)) == 0


def main() -> int:
    port = int(sys.argv[-1])
    if "--until-taken" not in sys.argv:
        return 0 if is_free(port) else 1
    ends = time.monotonic() + PATIENCE_S
    while time.monotonic() < ends:
        if answers(port):
            return 0
        time.sleep(0.1)
    return 1


if __name__ == "__main__":
    sys.exit(main())
