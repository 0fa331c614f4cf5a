"""Addresses of the pages about machines."""

from django.urls import include, path

from tripmargin.web.machines import (
    adding,
    guided_more,
    keeping,
    listing,
    protection,
    reaching,
    sheets,
    versions,
)

urlpatterns = [
    path("", listing.machines, name="machines"),
    path("machines/away/", listing.away, name="machines-away"),
    path("machines/add/", adding.add, name="machine-add"),
    path("machines/add/demo/<slug:name>/", adding.add_demo, name="machine-demo"),
    path("machines/add/questions/", include("tripmargin.web.machines.guided_urls")),
    path("machines/<uuid:uid>/", protection.machine, name="machine"),
    path("machines/<uuid:uid>/turned/", protection.turned, name="machine-turned"),
    path("machines/<uuid:uid>/because/", protection.because, name="machine-because"),
    path("machines/<uuid:uid>/keep/", keeping.keep, name="machine-keep"),
    path("machines/<uuid:uid>/reach/", reaching.reach, name="machine-reach"),
    path("machines/<uuid:uid>/reach/piece/", reaching.piece, name="machine-piece-reach"),
    path("machines/<uuid:uid>/feed/", protection.feed, name="machine-feed"),
    path("machines/<uuid:uid>/file/", versions.file, name="machine-file"),
    path("machines/<uuid:uid>/file/<int:number>/", versions.download, name="machine-version"),
    path("machines/<uuid:uid>/questions/", guided_more.more, name="machine-questions"),
    path("machines/<uuid:uid>/compare/", versions.differing, name="machine-compare"),
    path("machines/<uuid:uid>/put-away/", versions.put_away, name="machine-put-away"),
    path("type-sheets/", sheets.sheets, name="type-sheets"),
    path("type-sheets/<str:name>/", sheets.download_sheet, name="type-sheet"),
    path("machines/<uuid:uid>/take-sheet/", sheets.take_over, name="type-sheet-take"),
]
