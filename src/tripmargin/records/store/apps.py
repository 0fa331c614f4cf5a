"""Django's name for the tables."""

from django.apps import AppConfig


class Store(AppConfig):
    """The app `records`."""

    name = "tripmargin.records.store"
    label = "records"
    verbose_name = "records"
