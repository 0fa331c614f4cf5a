"""Addresses of the pages of what is due and what drifts."""

from django.urls import path

from tripmargin.web.standing import drift, due, fleet

urlpatterns = [
    path("due/", due.due, name="due"),
    path("fleet/", fleet.fleet, name="fleet"),
    path("machines/<uuid:uid>/drift/", drift.drift, name="machine-drift"),
]
