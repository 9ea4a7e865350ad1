"""Addresses of fitted parts, preferences and a baseline's review."""

from django.urls import path

from cars.pages import fitting, preferences

urlpatterns = [
    path("sheets/<uuid:pk>/parts", fitting.sheet_parts, name="sheet-parts"),
    path("cars/<uuid:pk>/preferences", preferences.preferences, name="preferences"),
    path("cars/<uuid:pk>/baseline", preferences.car_move_to_baseline, name="car-move-to-baseline"),
    path("preferences/<uuid:pk>/drop", preferences.preference_drop, name="preference-drop"),
    path("baselines/<uuid:pk>/review", preferences.baseline_review, name="baseline-review"),
]
