"""The door for gunicorn and the development server."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_wsgi_application()

from config.checks import require_safe_start  # noqa: E402 (settings must be set up first)
from config.keys import require_secret_key  # noqa: E402

require_secret_key()
require_safe_start()
