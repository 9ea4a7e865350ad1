"""Addresses of the API of cars, sheets, chassis and baselines."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.api import beside, club, garage, sheets

router = SimpleRouter(trailing_slash=False)
router.register("steps", club.Steps, basename="api-step")
router.register("measures", club.Measures, basename="api-measure")
router.register("chassis", club.ChassisViews, basename="api-chassis")
router.register("ballast-mounts", club.Mounts, basename="api-ballast-mount")
router.register("baselines", club.Baselines, basename="api-baseline")
router.register("cars", garage.Cars, basename="api-car")
router.register("parts", garage.Parts, basename="api-part")
router.register("ballast-pieces", garage.BallastPieces, basename="api-ballast-piece")
router.register("preferences", beside.Preferences, basename="api-preference")
router.register("sheets", sheets.Sheets, basename="api-sheet")
router.register("readings", sheets.Readings, basename="api-reading")
router.register("changes", sheets.Changes, basename="api-change")
router.register("comments", sheets.Comments, basename="api-comment")

urlpatterns = [
    path("", include("cars.api.plan_urls")),
    path("", include("cars.api.bench_urls")),
    path("", include(router.urls)),
]
