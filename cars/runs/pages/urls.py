"""Addresses of a car at the track, and of its runs."""

from django.urls import path

from cars.runs.pages import (
    after_run,
    at_track,
    handed_over,
    helped,
    laps,
    track,
    weather,
    what_to_try,
)

urlpatterns = [
    path("cars/<uuid:pk>/track", track.track, name="car-track"),
    path("cars/<uuid:pk>/track/change", track.change, name="car-track-change"),
    path("cars/<uuid:pk>/track/put-back", track.back, name="car-put-back"),
    path("cars/<uuid:pk>/track/readings", at_track.readings, name="car-track-readings"),
    path("cars/<uuid:pk>/track/weather", weather.weather, name="car-track-weather"),
    path(
        "cars/<uuid:pk>/track/weather/<uuid:weather>",
        weather.correct,
        name="car-weather-correct",
    ),
    path("cars/<uuid:pk>/what-to-try", what_to_try.what_to_try_page, name="what-to-try"),
    path("cars/<uuid:pk>/did-it-help", helped.did_it_help, name="did-it-help"),
    path("cars/<uuid:pk>/runs", track.runs, name="car-runs"),
    path("runs/<uuid:pk>/", track.run, name="run"),
    path("runs/<uuid:pk>/laps", laps.laps, name="run-laps"),
    path("runs/<uuid:pk>/laps/counted", laps.laps_counted, name="run-laps-counted"),
    path("runs/<uuid:pk>/after", after_run.after, name="run-after"),
    path("runs/<uuid:pk>/parts", after_run.parts, name="run-parts"),
    path("runs/<uuid:pk>/hand-over", handed_over.hand_over, name="run-hand-over"),
    path("handed-over", handed_over.driver_page, name="handed-over"),
    path("handed-over/back", handed_over.give_back, name="handed-over-back"),
    path("runs/<uuid:pk>/strike", track.strike, name="run-strike"),
    path(
        "track-changes/<uuid:pk>/take-back",
        track.change_taken_back,
        name="car-change-taken-back",
    ),
]
