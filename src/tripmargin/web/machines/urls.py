"""Addresses of the pages about machines."""

from django.urls import path

from tripmargin.web.doors.soon import soon
from tripmargin.web.machines import listing

urlpatterns = [
    path("", listing.machines, name="machines"),
    path("machines/<uuid:uid>/", soon, name="machine"),
    path("machines/<uuid:uid>/file/", soon, name="machine-file"),
]
