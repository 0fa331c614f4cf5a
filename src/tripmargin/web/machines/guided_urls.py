"""Addresses of adding a machine question by question."""

from django.urls import path

from tripmargin.web.machines import guided

urlpatterns = [
    path("", guided.guided, name="machine-guided"),
    path("check/", guided.check, name="machine-guided-check"),
    path("file/", guided.file, name="machine-guided-file"),
    path("add/", guided.add, name="machine-guided-add"),
    path("over/", guided.over, name="machine-guided-over"),
]
