"""Addresses of the API of plans."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.api import plans

router = SimpleRouter(trailing_slash=False)
router.register("plans", plans.Plans, basename="api-plan")
router.register("calibration-resets", plans.CalibrationResets, basename="api-calibration-reset")

urlpatterns = [
    path("sheets/<uuid:pk>/turn-plans", plans.SheetTurnPlans.as_view(), name="api-turn-plans"),
    path("sheets/<uuid:pk>/what-if", plans.SheetWhatIf.as_view(), name="api-what-if"),
    path("cars/<uuid:pk>/calibration", plans.CarCalibration.as_view(), name="api-calibration"),
    path("cars/<uuid:pk>/drift", plans.CarDriftView.as_view(), name="api-drift"),
    path("", include(router.urls)),
]
