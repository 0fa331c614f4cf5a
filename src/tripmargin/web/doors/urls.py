"""Addresses of the doors: signing in and out, oneself, the people of the workshop."""

from django.urls import path

from tripmargin.web.doors import own, signing_in

urlpatterns = [
    path("sign-in/", signing_in.sign_in, name="sign-in"),
    path("sign-out/", signing_in.sign_out, name="sign-out"),
    path("you/", own.you, name="you"),
    path("sun/", own.sun, name="sun"),
]
