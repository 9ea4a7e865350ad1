"""Addresses of the API of the history of cars."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.history.api import (
    advice,
    back_to_track,
    board,
    car_history,
    comparison,
    parts_life,
    progress,
    school_days,
)

router = SimpleRouter(trailing_slash=False)
router.register("compare/prints", comparison.ComparisonPrints, basename="api-compare-print")
router.register("advice", advice.AdviceView, basename="api-advice")
router.register("school-days", school_days.SchoolDays, basename="api-school-day")
router.register("outings", school_days.Outings, basename="api-outing")
router.register("part-limits", parts_life.PartLimits, basename="api-part-limit")

urlpatterns = [
    path("compare", comparison.Compare.as_view(), name="api-compare"),
    path("cars/<uuid:pk>/history", car_history.CarHistoryView.as_view(), name="api-car-history"),
    path(
        "cars/<uuid:pk>/back-to-track",
        back_to_track.BackToTrackView.as_view(),
        name="api-back-to-track",
    ),
    path("sheets/<uuid:pk>/way-back", back_to_track.WayBackView.as_view(), name="api-way-back"),
    path("boards/<uuid:pk>", board.BoardView.as_view(), name="api-board"),
    path("parts/<uuid:pk>/life", parts_life.PartLifeView.as_view(), name="api-part-life"),
    path("parts/<uuid:pk>/start", parts_life.PartStartView.as_view(), name="api-part-start"),
    path(
        "drivers/<uuid:pk>/seasons",
        car_history.DriverSeasonsView.as_view(),
        name="api-driver-seasons",
    ),
    path("drivers/<uuid:pk>/progress", progress.ProgressView.as_view(), name="api-driver-progress"),
    path("", include(router.urls)),
]
