"""All settings, read from the environment. README.md lists the names that a person sets."""

import os
import warnings
from datetime import timedelta
from importlib.resources import files
from pathlib import Path

import environ
from django.core.management.utils import get_random_secret_key

from config.logs import logging_settings
from config.sqlite_file import ReadableConnection

BASE_DIR = Path(__file__).resolve().parent.parent

env = environ.Env()

DEBUG: bool = env.bool("DEBUG", default=False)
SECRET_KEY: str = os.environ.get("SECRET_KEY", "")  # as it stands: env would take a key led by "$" for a name
# Without a key nothing is served (config/keys.py); every other command runs with a key that is thrown away.
SECRET_KEY_IS_THROW_AWAY = not SECRET_KEY
SECRET_KEY = SECRET_KEY or get_random_secret_key()
# Keys before this one: addresses of calendars made with them still open.
SECRET_KEY_FALLBACKS = os.environ.get("SECRET_KEY_FALLBACKS", "").split()

ALLOWED_HOSTS: list[str] = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1"] if DEBUG else [])
# Where people reach the site: links in mails, feeds and QR codes begin with it.
PUBLIC_URL: str = env.str("PUBLIC_URL", default=f"https://{ALLOWED_HOSTS[0]}" if ALLOWED_HOSTS else "").rstrip("/")
SERVED_OVER_HTTPS = not DEBUG and PUBLIC_URL.startswith("https://")

INSTALLED_APPS = [
    "config.apps.ConfigConfig",
    "participants.apps.ParticipantsConfig",
    "trips.apps.TripsConfig",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "crispy_forms",
    "crispy_bootstrap5",
    "csp",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "django_guid",
    "django_htmx",
    "template_partials",
    "django_tasks",
    "django_tasks_db",
]

MIDDLEWARE = [
    "django_guid.middleware.guid_middleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "config.middleware.permissions_policy",
    "config.middleware.ReadersSessionMiddleware",
    "config.middleware.leader_seen",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
    "participants.queued.TakenOnce",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["participants.templatetags.once_only"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "config.context.house",
            ],
        },
    },
]

# --- Database -------------------------------------------------------------------------------------------------------

DATABASES = {"default": env.db_url("DATABASE_URL", default=f"sqlite:///{BASE_DIR / 'fairhide.sqlite3'}")}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # One writer at a time, readers never wait; a writer takes its lock at once and waits up to 20 s for it
    # (or as long as the address says: sqlite:////path/to/file?timeout=5).
    DATABASES["default"]["OPTIONS"] = {
        "timeout": float(DATABASES["default"].get("OPTIONS", {}).get("timeout", 20)),
        "transaction_mode": "IMMEDIATE",
        "factory": ReadableConnection,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
    }
    # Connections stay open: the log beside the file then has its room on the disk, and a full one can still be read.
    DATABASES["default"]["CONN_MAX_AGE"] = None
else:
    DATABASES["default"]["CONN_MAX_AGE"] = 60
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# What takes long has a queue of its own. A worker works through all of them side by side, the first in its main thread.
QUEUES = ["plans", "papers", "default"]
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": QUEUES}}

# --- People and trust -----------------------------------------------------------------------------------------------

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
# Wrong passwords, of leaders and on the admin's page: ten, then a pause. config/throttle.py says by what they count.
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = "config.throttle.counted_by"
AXES_CLIENT_IP_CALLABLE = "participants.access.client_address"
AXES_LOCKOUT_TEMPLATE = "registration/locked.html"
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True  # who came in is no row to keep
AXES_VERBOSE = False  # its log lines name nobody
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # or whoever goes on typing would lock a leader out for ever
# The second step of a sign-in (config/sign_in.py). Whoever may look into the admin reads no key there.
OTP_TOTP_ISSUER = "Fairhide"
OTP_ADMIN_HIDE_SENSITIVE_DATA = True
# Proxies that are believed about whom they forward.
TRUSTED_PROXIES: list[str] = env.list("TRUSTED_PROXIES", default=["127.0.0.1", "::1"])
PASSWORD_RESET_TIMEOUT = 60 * 60  # a mailed link to a new password works for an hour
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

SESSION_ENGINE = "participants.session_store"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = SERVED_OVER_HTTPS
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 60 * 60 * 24 * 60
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if SERVED_OVER_HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SERVED_OVER_HTTPS
# Browsers' lists take a name in for years, with all below it: that is for whoever owns the name to ask for.
SECURE_HSTS_PRELOAD: bool = env.bool("HSTS_PRELOAD", default=False)
SILENCED_SYSTEM_CHECKS = [] if SECURE_HSTS_PRELOAD else ["security.W021"]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "config.views.csrf_failure"
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL] if PUBLIC_URL.startswith("https://") else []
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:"],  # data: for the icons inside Bootstrap's stylesheet
        "font-src": ["'self'"],
        "connect-src": ["'self'"],
        "worker-src": ["'self'"],
        "manifest-src": ["'self'"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}
# Pages that take a file name handlers of their own (trips/views/uploads.py); no other request brings one to the disk.
FILE_UPLOAD_HANDLERS = ["config.middleware.NoUploads"]
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000  # a gear table of ten people has more than Django's 1000

# --- Language and time ----------------------------------------------------------------------------------------------

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English"), ("de", "Deutsch"), ("es", "Español")]  # what participants read; leaders: English
LOCALE_PATHS = [BASE_DIR / "locale"]  # participants/speaking.py says when which of them is spoken
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"  # every page says the site's own zone

# --- Static files ---------------------------------------------------------------------------------------------------

STATIC_URL = "/static/"
STATIC_ROOT = BASE_DIR / "static-root"
STATICFILES_FINDERS = ["config.assets.OwnAppsFinder", "config.assets.PackageFinder"]
# Where a packaged file shows up below STATIC_URL, and where it comes from. Only what pages use, with its map.
PACKAGED_ASSETS = {
    "bootstrap/css/bootstrap.min.css": files("bootstrap") / "css" / "bootstrap.min.css",
    "bootstrap/css/bootstrap.min.css.map": files("bootstrap") / "css" / "bootstrap.min.css.map",
    "bootstrap/js/bootstrap.bundle.min.js": files("bootstrap") / "js" / "bootstrap.bundle.min.js",
    "bootstrap/js/bootstrap.bundle.min.js.map": files("bootstrap") / "js" / "bootstrap.bundle.min.js.map",
    "htmx/htmx.min.js": files("django_htmx") / "static" / "django_htmx" / "htmx-2.min.js",
    "font/regular.ttf": files("font_source_sans_pro") / "files" / "SourceSansPro-Regular.ttf",
    "font/semibold.ttf": files("font_source_sans_pro") / "files" / "SourceSansPro-Semibold.ttf",
}
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},  # uploads are read, never kept
    "staticfiles": {"BACKEND": "config.assets.HashedStorage"},
}
# Before collectstatic the files come straight from their packages, under plain names.
WHITENOISE_USE_FINDERS = not (STATIC_ROOT / "staticfiles.json").is_file()
if WHITENOISE_USE_FINDERS:
    warnings.filterwarnings("ignore", message="No directory at: ")

# --- Forms, mail, messages ------------------------------------------------------------------------------------------

CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"

vars().update(env.email_url("EMAIL_URL", default="consolemail://"))
EMAIL_TIMEOUT = 20  # seconds for each step of a mail: a silent mail server holds up nobody for long
DEFAULT_FROM_EMAIL: str = env.str("DEFAULT_FROM_EMAIL", default="Fairhide <rota@localhost>")
SERVER_EMAIL = DEFAULT_FROM_EMAIL

# Backups are encrypted for the holder of the secret key that belongs to it.
BACKUP_PUBLIC_KEY: str = env.str("BACKUP_PUBLIC_KEY", default="")

MESSAGE_TAGS = {10: "secondary", 20: "info", 25: "success", 30: "warning", 40: "danger"}

# A short number for each request: error pages show it, and the log has it.
DJANGO_GUID = {"GUID_HEADER_NAME": "X-Request-Number", "UUID_LENGTH": 8, "EXPOSE_HEADER": False}
ADMINS = [("Admin", address) for address in env.list("ADMINS", default=[])]
log_shape: str = env.str("LOG_SHAPE", default="line")
LOGGING = logging_settings(env.str("LOG_LEVEL", default="WARNING"), log_shape if log_shape == "json" else "line")
