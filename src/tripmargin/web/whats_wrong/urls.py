"""Addresses of the pages of fault finding."""

from django.urls import path

from tripmargin.web.doors.soon import soon

urlpatterns = [path("machines/<uuid:uid>/wrong/", soon, name="machine-wrong")]
