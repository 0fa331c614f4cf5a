"""Addresses of the played stop."""

from __future__ import annotations

from django.urls import path

from tripmargin.web.how import views

urlpatterns = [
    path("machines/<uuid:uid>/how/", views.how, name="machine-how"),
    path("machines/<uuid:uid>/how/play/", views.play, name="machine-how-play"),
]
