"""Addresses of the pages on which a machine is measured."""

from django.urls import path

from tripmargin.web.measuring import keeping, noising, passing, pieces, stopping

urlpatterns = [
    path("machines/<uuid:uid>/measure/", passing.measure, name="machine-measure"),
    path("machines/<uuid:uid>/measure/learned/", passing.learned, name="machine-learned"),
    path("machines/<uuid:uid>/measure/proved/", passing.proved, name="machine-learned-proved"),
    path("machines/<uuid:uid>/measure/keep/", keeping.keep, name="machine-learned-keep"),
    path("machines/<uuid:uid>/measure/stop/", stopping.stop, name="machine-stop"),
    path("machines/<uuid:uid>/measure/stop/frames/", stopping.frames, name="machine-stop-frames"),
    path(
        "machines/<uuid:uid>/measure/stop/<uuid:upload>/",
        stopping.found,
        name="machine-stop-found",
    ),
    path("machines/<uuid:uid>/measure/noise/", noising.noise, name="machine-noise"),
    path(
        "machines/<uuid:uid>/measure/noise/<uuid:upload>/",
        noising.found,
        name="machine-noise-found",
    ),
    path("machines/<uuid:uid>/measure/pieces/", pieces.pieces, name="machine-pieces"),
]
