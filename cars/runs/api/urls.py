"""Addresses of the API of runs."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.runs.api import after_run, helped, runs, suggestions, track, weather, what_to_try

router = SimpleRouter(trailing_slash=False)
router.register("runs", runs.Runs, basename="api-run")
router.register("weather", weather.WeatherNotes, basename="api-weather")
router.register("track-changes", track.TrackChanges, basename="api-track-change")
router.register("track-readings", track.TrackReadings, basename="api-track-reading")
router.register("suggestion-tables", suggestions.SuggestionTables, basename="api-suggestion-table")
router.register("suggestions", suggestions.Suggestions, basename="api-suggestion")

urlpatterns = [
    path("did-it-help", helped.DidItHelp.as_view(), name="api-did-it-help"),
    path("runs/<uuid:pk>/readings", after_run.RunReadings.as_view(), name="api-run-readings"),
    path("runs/<uuid:pk>/parts", after_run.RunParts.as_view(), name="api-run-parts"),
    path("cars/<uuid:pk>/now", track.CarNowView.as_view(), name="api-car-now"),
    path(
        "cars/<uuid:pk>/what-to-try",
        what_to_try.WhatToTryView.as_view(),
        name="api-what-to-try",
    ),
    path("cars/<uuid:pk>/put-back", track.CarPutBack.as_view(), name="api-put-back"),
    path(
        "cars/<uuid:pk>/track-changes",
        track.CarTrackChanges.as_view(),
        name="api-car-track-changes",
    ),
    path(
        "cars/<uuid:pk>/track-readings",
        track.CarTrackReadings.as_view(),
        name="api-car-track-readings",
    ),
    path("", include(router.urls)),
]
