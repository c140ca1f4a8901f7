"""The one settings module. Everything that differs between installations is read from CURELOG_* (see README.md)."""

from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF
from django.core.management.utils import get_random_secret_key

from curelog import environment

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = environment.folder("CURELOG_DATA", environment.usual_data_folder())
DEBUG = environment.flag("CURELOG_DEBUG")


def _secret_key() -> str:
    """`start` makes the key file; a command run before that gets a key that dies with it."""
    try:
        kept = (DATA_DIR / "secret.key").read_text().strip()
    except OSError:
        kept = ""
    return environment.text("CURELOG_SECRET_KEY") or kept or get_random_secret_key()


SECRET_KEY = _secret_key()
ALLOWED_HOSTS = environment.words("CURELOG_HOSTS") or ["localhost", "127.0.0.1", "[::1]"]
CSRF_TRUSTED_ORIGINS = environment.words("CURELOG_ORIGINS")

INSTALLED_APPS = [
    "curelog",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "axes",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "curelog.middleware.SmallPagesMiddleware",
    "curelog.middleware.PageHeadersMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "curelog.middleware.LongBodyMiddleware",
    "curelog.middleware.SignInMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "curelog.middleware.WorkshopMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "curelog.urls"
WSGI_APPLICATION = "curelog.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "curelog.middleware.workshop_context",
                "curelog.places.places",
            ],
            "builtins": [
                "curelog.templatetags.units",
                "curelog.templatetags.moments",
                "django_htmx.templatetags.django_htmx",
            ],
        },
    }
]

DATABASES = {
    "default": dj_database_url.parse(
        environment.text("CURELOG_DATABASE_URL") or f"sqlite:///{DATA_DIR / 'curelog.sqlite3'}",
        conn_max_age=60,
    )
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # Writers queue instead of failing, readers do not wait for them, and what was answered "kept" is on the disk:
    # the phone throws its copy away on our word.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# Estimates worked out from facts; may be thrown away at any time.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "TIMEOUT": None,
        "OPTIONS": {"MAX_ENTRIES": 20_000},
    }
}

AUTH_USER_MODEL = "curelog.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
PASSWORD_RESET_TIMEOUT = 24 * 3600
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "sign_in"
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "registration/locked.html"
AXES_RESET_ON_SUCCESS = True
# Else somebody who keeps trying could lock the rightful person out for good.
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
# Who signed in when, from where and with what is nobody's business once it went well.
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
AXES_ENABLE_ADMIN = False

# A phone in the curing room stays signed in over a season.
SESSION_COOKIE_AGE = 180 * 24 * 3600
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "curelog.views.errors.csrf_failure"
# Behind HTTPS only: in a workshop's own network plain HTTP must still work for a first look.
HTTPS = environment.flag("CURELOG_HTTPS")
SECURE_SSL_REDIRECT = SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
# `start --lan` keeps a plain door beside its HTTPS one: HSTS would lock it, and cookies know no ports. Of two cookies
# with one name the plain door could not set its own (RFC 6265bis, "leave secure cookies alone"): so they are two.
LAN_PORT = environment.number("CURELOG_LAN_PORT", 0)
IS_FOR_GOOD = HTTPS and not LAN_PORT
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if IS_FOR_GOOD else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = IS_FOR_GOOD
if HTTPS and LAN_PORT:
    SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "__Host-sessionid", "__Host-csrftoken"
if environment.flag("CURELOG_BEHIND_PROXY"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    }
}

LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "curelog.staticfiles.HashedStorage"
    },
}
PHOTO_DIR = DATA_DIR / "photos"
PHOTO_LIMIT_BYTES = 40 * 1024 * 1024
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 1024 * 1024

# Mail for reminders and for nothing else; without a host there is none.
EMAIL_HOST = environment.text("CURELOG_MAIL_HOST")
EMAIL_PORT = environment.number("CURELOG_MAIL_PORT", 587)
EMAIL_HOST_USER = environment.text("CURELOG_MAIL_USER")
EMAIL_HOST_PASSWORD = environment.text("CURELOG_MAIL_PASSWORD")
EMAIL_USE_SSL = EMAIL_PORT == 465
EMAIL_USE_TLS = environment.flag("CURELOG_MAIL_TLS", True) and not EMAIL_USE_SSL
EMAIL_TIMEOUT = 15
DEFAULT_FROM_EMAIL = environment.text("CURELOG_MAIL_FROM", "curelog@localhost")
# Told to push services, so that their operators can reach the workshop (RFC 8292, 2.1).
PUSH_CONTACT = environment.text("CURELOG_PUSH_CONTACT") or f"mailto:{DEFAULT_FROM_EMAIL}"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "class": "curelog.logs.MaskingFormatter",
            "format": "%(asctime)s %(levelname)s %(name)s %(message)s",
        }
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    # A form with a mistake or a page not found is no fault of the server.
    "loggers": {"django.request": {"level": "ERROR"}},
}
