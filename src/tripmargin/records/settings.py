"""Django's settings for the records alone; the web app adds to them."""

from __future__ import annotations

from tripmargin.records.home import database, home, secret_key

HOME = home()
SECRET_KEY = secret_key(HOME)
DATABASES = {"default": database(folder=HOME)}
INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "tripmargin.records.store",
]
AUTH_USER_MODEL = "records.Person"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = False
LOGGING_CONFIG = None
