"""Addresses of the pages on which a machine is set."""

from django.urls import path

from tripmargin.web.setting import pawls, threshold, threshold_keep

urlpatterns = [
    path("machines/<uuid:uid>/set/pawls/", pawls.pawls, name="machine-set-pawls"),
    path("machines/<uuid:uid>/set/threshold/", threshold.threshold, name="machine-set-threshold"),
    path(
        "machines/<uuid:uid>/set/threshold/keep/",
        threshold_keep.keep,
        name="machine-set-threshold-keep",
    ),
]
