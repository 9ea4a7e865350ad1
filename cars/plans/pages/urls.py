"""Addresses of what is worked out from a sheet, and of what a car has taught."""

from django.urls import path

from cars.plans.pages import axles, ballast, drift, turns

urlpatterns = [
    path("sheets/<uuid:pk>/turn", turns.turn, name="sheet-turn"),
    path("sheets/<uuid:pk>/turn/accept", turns.turn_accept, name="sheet-turn-accept"),
    path("sheets/<uuid:pk>/what-if", turns.what_if, name="sheet-what-if"),
    path("sheets/<uuid:pk>/what-if/answer", turns.what_if_answer, name="sheet-what-if-answer"),
    path("sheets/<uuid:pk>/add", ballast.add, name="sheet-add"),
    path("sheets/<uuid:pk>/add/fitted", ballast.fitted, name="sheet-add-fitted"),
    path("sheets/<uuid:pk>/add/taken-back", ballast.taken_back, name="sheet-add-taken-back"),
    path("sheets/<uuid:pk>/square", axles.square, name="sheet-square"),
    path("sheets/<uuid:pk>/square/turned", axles.rods_turned, name="sheet-square-turned"),
    path("sheets/<uuid:pk>/marks", axles.marks, name="sheet-marks"),
    path("sheets/<uuid:pk>/marks/set", axles.marks_set, name="sheet-marks-set"),
    path("sheets/<uuid:pk>/lead", axles.lead, name="sheet-lead"),
    path("cars/<uuid:pk>/drift", drift.drift, name="drift"),
    path("sheets/<uuid:pk>/weigh", turns.weigh, name="sheet-weigh"),
    path("sheets/<uuid:pk>/same-again", turns.same_again, name="sheet-same-again"),
    path("cars/<uuid:pk>/learned", turns.calibration, name="calibration"),
    path("cars/<uuid:pk>/learned/anew", turns.calibration_reset, name="calibration-reset"),
]
