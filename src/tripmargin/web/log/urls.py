"""Addresses of the pages of the log."""

from django.urls import path

from tripmargin.web.doors.soon import soon

urlpatterns = [path("machines/<uuid:uid>/log/", soon, name="machine-log")]
