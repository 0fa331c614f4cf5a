"""The application that a web server calls."""

from __future__ import annotations

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tripmargin.web.settings")
application = get_wsgi_application()
