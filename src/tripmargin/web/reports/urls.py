"""Addresses of the reports."""

from __future__ import annotations

from django.urls import path

from tripmargin.web.reports import fleet, machine

urlpatterns = [
    path("machines/<uuid:uid>/reports/", machine.reports, name="machine-reports"),
    path("machines/<uuid:uid>/reports/<slug:kind>/", machine.report, name="machine-report"),
    path("fleet/reports/", fleet.reports, name="fleet-reports"),
    path("fleet/reports/season/", fleet.season, name="season-report"),
    path("practise/record/", fleet.training, name="training-record"),
]
