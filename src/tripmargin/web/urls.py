"""Every address of the web app; each area brings its own."""

from django.urls import include, path

urlpatterns = [
    path("", include("tripmargin.web.machines.urls")),
    path("", include("tripmargin.web.log.urls")),
    path("", include("tripmargin.web.standing.urls")),
    path("", include("tripmargin.web.whats_wrong.urls")),
    path("", include("tripmargin.web.measuring.urls")),
    path("", include("tripmargin.web.setting.urls")),
    path("", include("tripmargin.web.card.urls")),
    path("", include("tripmargin.web.how.urls")),
    path("", include("tripmargin.web.drills.urls")),
    path("", include("tripmargin.web.reports.urls")),
    path("", include("tripmargin.web.doors.urls")),
]

handler400 = "tripmargin.web.doors.refusals.bad_request"
handler403 = "tripmargin.web.doors.refusals.not_allowed"
handler404 = "tripmargin.web.doors.refusals.not_found"
handler500 = "tripmargin.web.doors.refusals.broken"
