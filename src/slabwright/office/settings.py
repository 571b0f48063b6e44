"""Settings of the office, all from the environment; docs/settings.md says what each does.

SLABWRIGHT_HOME      folder of the data: database, photos, secret (default: the user's data folder)
SLABWRIGHT_DATABASE  postgresql://user@host/name; without it an embedded SQLite file in the home
SLABWRIGHT_SECRET    key that signs sessions; without it the file `secret` in the home
SLABWRIGHT_HOSTS     names that the site answers to, with commas (default: this machine only)
SLABWRIGHT_HTTPS     1 behind a TLS proxy: secure cookies, strict transport, https links
SLABWRIGHT_PROXIES   how many proxies stand before the server and add X-Forwarded-For (default 0)
SLABWRIGHT_DEBUG     1 only while programming
"""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

HERE = Path(__file__).parent


def home() -> Path:
    """Return the folder of the office's data."""
    given = os.environ.get("SLABWRIGHT_HOME")
    if given:
        return Path(given).expanduser()
    data = os.environ.get("XDG_DATA_HOME") or "~/.local/share"
    return Path(data).expanduser() / "slabwright"


def _flag(name: str) -> bool:
    return os.environ.get(name, "").strip().lower() in {"1", "yes", "true", "on"}


def secret() -> str:
    """Return the signing key: the environment's, else that of the home, which is made on first use."""
    given = os.environ.get("SLABWRIGHT_SECRET")
    if given:
        return given
    file = home() / "secret"
    try:
        return file.read_text(encoding="ascii").strip()
    except FileNotFoundError:
        made = secrets.token_urlsafe(50)
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        try:
            handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:  # another worker was quicker
            return file.read_text(encoding="ascii").strip()
        with os.fdopen(handle, "w") as out:
            out.write(made)
        return made


def database() -> dict[str, Any]:
    """Return Django's record of the database; ValueError for an address of another kind."""
    given = os.environ.get("SLABWRIGHT_DATABASE", "").strip()
    if not given or "://" not in given:
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": given or str(home() / "office.sqlite3"),
            "OPTIONS": {
                # A writer takes its place in the queue at once instead of failing half-way; FULL keeps an
                # accepted edit through a power cut, which NORMAL would not.
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;PRAGMA cache_size=-16000;",
            },
        }
    parts = urlsplit(given)
    if parts.scheme not in {"postgresql", "postgres"}:
        raise ValueError(
            f"SLABWRIGHT_DATABASE begins with {parts.scheme}://; write postgresql://user@host/name"
        )
    options = dict(parse_qsl(parts.query))
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.lstrip("/")) or "slabwright",
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": options.pop("host", parts.hostname or ""),
        "PORT": str(options.pop("port", parts.port or "")),
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": options,
    }


DEBUG = _flag("SLABWRIGHT_DEBUG")
HTTPS = _flag("SLABWRIGHT_HTTPS")
SECRET_KEY = secret()
ALLOWED_HOSTS = [h.strip() for h in os.environ.get("SLABWRIGHT_HOSTS", "").split(",") if h.strip()] or [
    "localhost",
    "127.0.0.1",
    "[::1]",
]
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if HTTPS and host != "*"]
PROXIES = int(os.environ.get("SLABWRIGHT_PROXIES", "0") or 0)

ROOT_URLCONF = "slabwright.office.urls"
WSGI_APPLICATION = "slabwright.office.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
DATABASES = {"default": database()}
INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "axes",
    "slabwright.office.apps.OfficeConfig",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    # A job's sheet is half a megabyte of text and a tenth of that on the way to a phone in a yard.
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "slabwright.office.middleware.Language",
    "slabwright.office.middleware.Bounded",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "slabwright.office.middleware.Plainly",
    "axes.middleware.AxesMiddleware",
]
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "csp.context_processors.nonce",
                "slabwright.office.context.everywhere",
            ],
            "builtins": ["slabwright.office.templatetags.office"],
        },
    }
]

# People
AUTH_USER_MODEL = "office.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("email", "name")},
    },
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "jobs"
AXES_FAILURE_LIMIT = 6
AXES_COOLOFF_TIME = 0.25  # [h]
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_USERNAME_FORM_FIELD = "username"
AXES_LOCKOUT_CALLABLE = "slabwright.office.pages.people.locked"
AXES_RESET_ON_SUCCESS = True
AXES_CLIENT_IP_CALLABLE = "slabwright.office.peer.address"
AXES_VERBOSE = False

# Sessions and cookies
SESSION_COOKIE_NAME = "slabwright"
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SECURE = HTTPS
CSRF_FAILURE_VIEW = "slabwright.office.pages.errors.forged"
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS and PROXIES else None
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin" if HTTPS else None
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:", "blob:"],
        "font-src": ["'self'"],
        "connect-src": ["'self'"],
        "manifest-src": ["'self'"],
        "worker-src": ["'self'"],
        "form-action": ["'self'"],
        "base-uri": ["'none'"],
        "frame-ancestors": ["'none'"],
    }
}

# What may be sent in
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000  # [bytes] of a form without its files
FILE_UPLOAD_MAX_MEMORY_SIZE = 1_000_000  # [bytes] a file above this goes to a temporary file
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5_000
DATA_UPLOAD_MAX_NUMBER_FILES = 20
PHOTO_MOST_BYTES = 12_000_000
UPLOAD_MOST_BYTES = 130_000_000  # of one request with all its files: refused before anything of it is read
MEDIA_ROOT = home() / "photos"

# Words, days and static files
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
LANGUAGE_COOKIE_NAME = "slabwright-language"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"
STATIC_URL = "static/"
STATIC_ROOT = home() / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = DEBUG
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
TEST_RUNNER = "django.test.runner.DiscoverRunner"
SILENCED_SYSTEM_CHECKS = [
    "axes.W006",  # behind no proxy the peer's own address counts
    # The office may answer at one name of a domain whose other names are somebody else's matter: it neither
    # speaks for them nor enters browsers' lists, from which there is no quick way out.
    "security.W005",
    "security.W021",
]

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {"slabwright": {"level": "INFO"}, "axes": {"level": "ERROR"}},
}
