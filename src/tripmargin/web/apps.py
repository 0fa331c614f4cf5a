"""Django's name for the pages."""

from django.apps import AppConfig


class Web(AppConfig):
    """The app `web`: templates and static files, no tables."""

    name = "tripmargin.web"
    label = "web"
