"""Addresses of the pages of what is due and what drifts."""

from django.urls import path

from tripmargin.web.doors.soon import soon
from tripmargin.web.standing import due

urlpatterns = [
    path("due/", due.due, name="due"),
    path("fleet/", soon, name="fleet"),
    path("machines/<uuid:uid>/drift/", soon, name="machine-drift"),
]
