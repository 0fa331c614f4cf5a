"""Addresses of the phone card."""

from __future__ import annotations

from django.urls import path

from tripmargin.web.card import views

urlpatterns = [
    path("machines/<uuid:uid>/card/", views.card, name="machine-card"),
    path("machines/<uuid:uid>/card/file/", views.file, name="machine-card-file"),
]
