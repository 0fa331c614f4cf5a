"""Django's settings for the web app: those of the records, and what pages need besides.

`tripmargin serve` says which names the server answers to and whether a proxy stands before it, by
the TRIPMARGIN_ settings below; docs/reference/settings.md lists them all.
"""

from __future__ import annotations

import os
from pathlib import Path

from tripmargin.ground.languages import known_languages
from tripmargin.records.settings import *  # noqa: F403
from tripmargin.records.settings import HOME, INSTALLED_APPS

_HERE = Path(__file__).parent
_TLS = os.environ.get("TRIPMARGIN_BEHIND_TLS") == "yes"

DEBUG = False
ALLOWED_HOSTS = os.environ.get("TRIPMARGIN_HOSTS", "localhost 127.0.0.1 [::1]").split()
# Where others reach the server, for links that an owner at the server itself makes for them.
YARD_ADDRESS = os.environ.get("TRIPMARGIN_ADDRESS", "")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS] if _TLS else []
ROOT_URLCONF = "tripmargin.web.urls"
WSGI_APPLICATION = "tripmargin.web.wsgi.application"

INSTALLED_APPS = [
    *INSTALLED_APPS,
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "tripmargin.web.apps.Web",
]
MIDDLEWARE = [
    "tripmargin.web.doors.headers.Headers",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "tripmargin.web.doors.languages.Speaking",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "tripmargin.web.doors.limits.RequestSize",
    "tripmargin.web.doors.database.DatabaseRefused",
    "tripmargin.web.doors.signed_in.SignedIn",
]
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [_HERE / "templates"],
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "tripmargin.web.frame.frame",
            ],
            "builtins": ["tripmargin.web.templatetags.tripmargin"],
        },
    }
]

LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "machines"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
     "OPTIONS": {"user_attributes": ("name",)}},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
     "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]  # fmt: skip

# Cookies travel over TLS only where TLS is there: on a yard's own network it is not, and the
# security page says so.
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = _TLS
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_NAME = "tripmargin_session"
CSRF_COOKIE_NAME = "tripmargin_csrf"
SESSION_COOKIE_AGE = 14 * 86400
SECURE_CONTENT_TYPE_NOSNIFF = True
CSRF_FAILURE_VIEW = "tripmargin.web.doors.refusals.forged"
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_HSTS_SECONDS = 31536000 if _TLS else 0
SECURE_SSL_REDIRECT = _TLS
if _TLS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

DATA_UPLOAD_MAX_MEMORY_SIZE = 2_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 500
DATA_UPLOAD_MAX_NUMBER_FILES = 10
FILE_UPLOAD_MAX_MEMORY_SIZE = 2_000_000

STATIC_URL = "/static/"
STATIC_ROOT = HOME / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
WHITENOISE_MANIFEST_STRICT = True

USE_I18N = True
LANGUAGE_CODE = "en"
LANGUAGES = list(known_languages().items())
LOCALE_PATHS = [_HERE / "locale"]  # made by tools/catalogues.py: the words of the templates
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
