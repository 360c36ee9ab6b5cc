"""The settings of the tests: the house's own, read from an environment like the demo's."""

import os

os.environ.setdefault("SECRET_KEY", "only-for-tests-" + "x" * 50)
os.environ.setdefault("DEBUG", "1")
os.environ.setdefault("PUBLIC_URL", "http://testserver")
os.environ.setdefault("ALLOWED_HOSTS", "testserver,localhost,127.0.0.1")

from config.settings import *  # noqa: E402, F403
