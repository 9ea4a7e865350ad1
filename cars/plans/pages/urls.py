"""Addresses of what is worked out from a sheet, and of what a car has taught."""

from django.urls import path

from cars.plans.pages import axles as squaring
from cars.plans.pages import ballast as adding
from cars.plans.pages import drift
from cars.plans.pages import turns as plans

urlpatterns = [
    path("sheets/<uuid:pk>/turn", plans.turn, name="sheet-turn"),
    path("sheets/<uuid:pk>/turn/accept", plans.turn_accept, name="sheet-turn-accept"),
    path("sheets/<uuid:pk>/what-if", plans.what_if, name="sheet-what-if"),
    path("sheets/<uuid:pk>/what-if/answer", plans.what_if_answer, name="sheet-what-if-answer"),
    path("sheets/<uuid:pk>/add", adding.add, name="sheet-add"),
    path("sheets/<uuid:pk>/add/fitted", adding.fitted, name="sheet-add-fitted"),
    path("sheets/<uuid:pk>/add/taken-back", adding.taken_back, name="sheet-add-taken-back"),
    path("sheets/<uuid:pk>/square", squaring.square, name="sheet-square"),
    path("sheets/<uuid:pk>/square/turned", squaring.rods_turned, name="sheet-square-turned"),
    path("sheets/<uuid:pk>/marks", squaring.marks, name="sheet-marks"),
    path("sheets/<uuid:pk>/marks/set", squaring.marks_set, name="sheet-marks-set"),
    path("sheets/<uuid:pk>/lead", squaring.lead, name="sheet-lead"),
    path("cars/<uuid:pk>/drift", drift.drift, name="drift"),
    path("sheets/<uuid:pk>/weigh", plans.weigh, name="sheet-weigh"),
    path("sheets/<uuid:pk>/same-again", plans.same_again, name="sheet-same-again"),
    path("cars/<uuid:pk>/learned", plans.calibration, name="calibration"),
    path("cars/<uuid:pk>/learned/anew", plans.calibration_reset, name="calibration-reset"),
]
