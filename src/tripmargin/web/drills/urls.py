"""Addresses of the pages of drills."""

from django.urls import path

from tripmargin.web.drills import classes, joining, practising

urlpatterns = [
    path("practise/", practising.practise, name="practise"),
    path("practise/results.json", practising.practise_results, name="practise-results"),
    path("practise/on/<str:name>/", practising.demo_practise, name="demo-practise"),
    path("machines/<uuid:uid>/practise/", practising.machine_practise, name="machine-practise"),
    path("practise/<uuid:uid>/", practising.practice, name="practice"),
    path("practise/<uuid:uid>/move/", practising.practice_move, name="practice-move"),
    path("practise/<uuid:uid>/reading/", practising.practice_reading, name="practice-reading"),
    path("practise/<uuid:uid>/wiring/", practising.practice_wiring, name="practice-wiring"),
    path("practise/<uuid:uid>/result.json", practising.practice_file, name="practice-file"),
    path("practise/<uuid:uid>/again/", practising.practice_again, name="practice-again"),
    path("practise/<uuid:uid>/next/", practising.practise_due, name="practice-next"),
    # a class, for its trainer
    path("classes/", classes.classes, name="classes"),
    path("classes/new/", classes.new_class, name="class-new"),
    path("classes/<uuid:uid>/", classes.one_class, name="class"),
    path("classes/<uuid:uid>/change/", classes.change_class, name="class-change"),
    path("classes/<uuid:uid>/board/", classes.board, name="class-board"),
    path("classes/<uuid:uid>/results.csv", classes.class_results, name="class-results"),
    path("classes/<uuid:uid>/records/", classes.class_records, name="class-records"),
    path("classes/<uuid:uid>/practice/<uuid:practice>/", classes.class_look, name="class-look"),
    # a class, for those who learn in it, without an account: the cookie is good for class/ alone
    path("class/", joining.door, name="class-door"),
    path("class/join/<str:code>/", joining.join, name="class-join"),
    path("class/room/", joining.own_room, name="class-room"),
    path("class/room/results.json", joining.results, name="class-own-results"),
    path("class/drill/<int:number>/", joining.begin, name="class-begin"),
    path("class/practice/<uuid:uid>/", joining.practice, name="class-practice"),
    path("class/practice/<uuid:uid>/move/", joining.move, name="class-move"),
    path("class/practice/<uuid:uid>/reading/", joining.reading, name="class-reading"),
    path("class/practice/<uuid:uid>/wiring/", joining.wiring, name="class-wiring"),
]
