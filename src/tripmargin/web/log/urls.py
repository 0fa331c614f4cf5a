"""Addresses of the pages of the log."""

from django.urls import path

from tripmargin.web.log import (
    correcting,
    entering,
    exchanging,
    gaps,
    listing,
    offline,
    photos,
    taking_along,
)

urlpatterns = [
    path("machines/<uuid:uid>/log/", listing.log, name="machine-log"),
    path(
        "machines/<uuid:uid>/log/export/<slug:ending>/",
        taking_along.of_machine,
        name="machine-log-export",
    ),
    path("machines/<uuid:uid>/gaps/", gaps.into_file, name="machine-gaps"),
    path("machines/<uuid:uid>/log/new/<slug:kind>/", entering.new_entry, name="new-entry"),
    path("entries/<uuid:uid>/", listing.entry, name="entry"),
    path("entries/<uuid:uid>/correct/", correcting.correct, name="correct-entry"),
    path("entries/<uuid:uid>/withdraw/", correcting.withdraw, name="withdraw-entry"),
    path("log/exchange/", exchanging.exchange, name="log-exchange"),
    path("log/export/<slug:ending>/", taking_along.of_all, name="log-export"),
    path("photos/<uuid:uid>/", photos.photo, name="photo"),
    path("photos/<uuid:uid>/small/", photos.small_photo, name="small-photo"),
    path("outbox/", offline.outbox, name="outbox"),
    path("offline/", offline.no_connection, name="offline"),
    path("worker.js", offline.worker, name="worker"),
]
