"""Addresses of the pages of fault finding."""

from django.urls import path

from tripmargin.web.whats_wrong import answering, beginning, late, showing

urlpatterns = [
    path("machines/<uuid:uid>/wrong/", beginning.wrong, name="machine-wrong"),
    path("cases/<uuid:uid>/", showing.case, name="case"),
    path("cases/<uuid:uid>/reading/", showing.reading, name="case-reading"),
    path("cases/<uuid:uid>/news/", showing.news, name="case-news"),
    path("cases/<uuid:uid>/answer/", answering.answer, name="case-answer"),
    path("cases/<uuid:uid>/undo/", answering.undo, name="case-undo"),
    path("cases/<uuid:uid>/redo/", answering.redo, name="case-redo"),
    path("cases/<uuid:uid>/version/", answering.version, name="case-version"),
    path("cases/<uuid:uid>/late/<int:n>/", late.late, name="case-late"),
]
