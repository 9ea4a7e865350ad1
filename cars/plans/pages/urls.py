"""Addresses of what is worked out from a sheet, and of what a car has taught."""

from django.urls import path
from django.views.generic import RedirectView

from cars.plans.pages import axles, ballast, drift, gearing, springs, turns

urlpatterns = [
    path("sheets/<uuid:pk>/turn", turns.turn, name="sheet-turn"),
    path("sheets/<uuid:pk>/turn/accept", turns.turn_accept, name="sheet-turn-accept"),
    path("sheets/<uuid:pk>/what-if", turns.what_if, name="sheet-what-if"),
    path("sheets/<uuid:pk>/what-if/answer", turns.what_if_answer, name="sheet-what-if-answer"),
    path("sheets/<uuid:pk>/ballast", ballast.ballast, name="sheet-ballast"),
    path("sheets/<uuid:pk>/ballast/fitted", ballast.fitted, name="sheet-ballast-fitted"),
    path(
        "sheets/<uuid:pk>/ballast/taken-back", ballast.taken_back, name="sheet-ballast-taken-back"
    ),
    path("sheets/<uuid:pk>/rods", axles.rod_turns, name="sheet-rods"),
    path("sheets/<uuid:pk>/rods/turned", axles.rods_turned, name="sheet-rods-turned"),
    path("sheets/<uuid:pk>/marks", axles.marks, name="sheet-marks"),
    path("sheets/<uuid:pk>/marks/set", axles.marks_set, name="sheet-marks-set"),
    path("sheets/<uuid:pk>/lead", axles.lead, name="sheet-lead"),
    path("cars/<uuid:pk>/drift", drift.drift, name="drift"),
    path("cars/<uuid:pk>/drift/by-part", drift.by_part, name="drift-by-part"),
    path("cars/<uuid:pk>/drift/by-track", drift.by_track, name="drift-by-track"),
    path("cars/<uuid:pk>/gearing", gearing.gearing, name="gearing"),
    path("cars/<uuid:pk>/springs", springs.springs, name="springs"),
    path("sheets/<uuid:pk>/weigh", turns.weigh, name="sheet-weigh"),
    path("sheets/<uuid:pk>/same-again", turns.same_again, name="sheet-same-again"),
    path("cars/<uuid:pk>/calibration", turns.calibration, name="calibration"),
    path("cars/<uuid:pk>/calibration/reset", turns.calibration_reset, name="calibration-reset"),
    # As these were called before.
    path(
        "sheets/<uuid:pk>/add",
        RedirectView.as_view(pattern_name="sheet-ballast", query_string=True),
        name="old-sheet-ballast",
    ),
    path(
        "sheets/<uuid:pk>/square",
        RedirectView.as_view(pattern_name="sheet-rods", query_string=True),
        name="old-sheet-rods",
    ),
    path(
        "cars/<uuid:pk>/learned",
        RedirectView.as_view(pattern_name="calibration"),
        name="old-calibration",
    ),
]
