"""Addresses of the doors: signing in and out, oneself, the people of the workshop."""

from django.urls import path

from tripmargin.web.doors import again, inviting, joining, languages, own, people, signing_in

urlpatterns = [
    path("sign-in/", signing_in.sign_in, name="sign-in"),
    path("sign-out/", signing_in.sign_out, name="sign-out"),
    path("again/", again.again, name="again"),
    path("join/<str:token>/", joining.join, name="join"),
    path("you/", own.you, name="you"),
    path("you/units/", own.units, name="you-units"),
    path("you/password/", own.password, name="you-password"),
    path("you/sign-out-everywhere/", own.sign_out_everywhere, name="you-sign-out"),
    path("sun/", own.sun, name="sun"),
    path("language/", languages.language, name="language"),
    path("people/", people.people, name="people"),
    path("people/changes/", people.changes, name="changes"),
    path("people/invite/", inviting.invitation, name="invite"),
    path("people/invitations/<int:pk>/", inviting.invitation_back, name="invitation-back"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/role/", people.role, name="person-role"),
    path("people/<int:pk>/switch/", people.switch, name="person-switch"),
    path("people/<int:pk>/password-link/", inviting.password_link, name="person-password"),
    path("people/<int:pk>/sign-out/", people.sign_out_person, name="person-sign-out"),
]
