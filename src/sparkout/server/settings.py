"""Django's settings, from the environment and the data folder.

SPARKOUT_DATA        the data folder (else this user's)
SPARKOUT_DATABASE    postgresql://... (else SQLite in the data folder)
SPARKOUT_HOSTS       further names under which the server may be asked, with commas
SPARKOUT_TIME_ZONE   such as Europe/London (else this machine's)
"""

from __future__ import annotations

import os
from pathlib import Path

from sparkout.server.data_folder import data_folder, database_file, secret_key
from sparkout.server.database import postgresql, sqlite
from sparkout.translation import LANGUAGES as OURS

DATA = data_folder()
SECRET_KEY = secret_key(DATA)
DEBUG = False
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
ALLOWED_HOSTS += [name.strip() for name in os.environ.get("SPARKOUT_HOSTS", "").split(",") if name.strip()]

_address = os.environ.get("SPARKOUT_DATABASE", "")
DATABASES = {"default": postgresql(_address) if _address else sqlite(database_file(DATA))}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
MEDIA_ROOT = DATA / "attachments"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

INSTALLED_APPS = ["sparkout.records", "sparkout.web", "django_htmx", "ninja", "django.contrib.staticfiles"]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "sparkout.server.security.OwnHostOnly",
    "sparkout.web.api.errors.JsonRefusals",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]
SESSION_ENGINE = "django.contrib.sessions.backends.signed_cookies"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 365 * 24 * 3600
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 20_000_000

CSRF_FAILURE_VIEW = "sparkout.web.shell.pages.forbidden"
ROOT_URLCONF = "sparkout.server.urls"
WSGI_APPLICATION = "sparkout.server.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.template.context_processors.i18n",
            ]
        },
    }
]

STATIC_URL = "/static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = False

USE_I18N = True
LANGUAGE_CODE = "en"
LANGUAGES = list(OURS.items())
FORMAT_MODULE_PATH = "sparkout.server.formats"
USE_TZ = True


def _zone() -> str:
    told = os.environ.get("SPARKOUT_TIME_ZONE") or os.environ.get("TZ", "").removeprefix(":")
    linked = os.path.realpath("/etc/localtime").partition("/zoneinfo/")[2]
    for name in (told, linked):
        if name and (Path("/usr/share/zoneinfo") / name).is_file():
            return name
    return "UTC"


TIME_ZONE = _zone()

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "loggers": {
        "django": {"handlers": ["console"], "level": "WARNING"},
        # Asked under a name that is not ours: refused with 400, and nothing to tell.
        "django.security.DisallowedHost": {"handlers": [], "propagate": False},
    },
}
