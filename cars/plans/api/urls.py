"""Addresses of the API of plans."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.plans.api import car_tools, drift, tools, turns

router = SimpleRouter(trailing_slash=False)
router.register("plans", turns.Plans, basename="api-plan")
router.register("calibration-resets", turns.CalibrationResets, basename="api-calibration-reset")

urlpatterns = [
    path("sheets/<uuid:pk>/turn-plans", turns.SheetTurnPlans.as_view(), name="api-turn-plans"),
    path("sheets/<uuid:pk>/what-if", turns.SheetWhatIf.as_view(), name="api-what-if"),
    path("cars/<uuid:pk>/calibration", turns.CarCalibration.as_view(), name="api-calibration"),
    path("cars/<uuid:pk>/drift", turns.CarDriftView.as_view(), name="api-drift"),
    path("cars/<uuid:pk>/drift/by-part", drift.DriftByPart.as_view(), name="api-drift-by-part"),
    path("cars/<uuid:pk>/drift/by-track", drift.DriftByTrack.as_view(), name="api-drift-by-track"),
    path("cars/<uuid:pk>/gearing", car_tools.CarGearingView.as_view(), name="api-gearing"),
    path("cars/<uuid:pk>/springs", car_tools.CarSpringsView.as_view(), name="api-springs"),
    path("sheets/<uuid:pk>/rods", tools.SheetRods.as_view(), name="api-rods"),
    path("sheets/<uuid:pk>/block-marks", tools.SheetMarks.as_view(), name="api-marks"),
    path("sheets/<uuid:pk>/lead", tools.SheetLead.as_view(), name="api-lead"),
    path(
        "sheets/<uuid:pk>/ballast-plans", tools.SheetBallastPlans.as_view(), name="api-ballast-plan"
    ),
    path(
        "sheets/<uuid:pk>/ballast/taken-back",
        tools.SheetBallastTakenBack.as_view(),
        name="api-ballast-taken-back",
    ),
    path("sheets/<uuid:pk>/ballast", tools.SheetBallast.as_view(), name="api-sheet-ballast"),
    path("", include(router.urls)),
]
