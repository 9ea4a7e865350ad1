"""Addresses of the API of the history of cars."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.history.api import advice, board, comparison, progress

router = SimpleRouter(trailing_slash=False)
router.register("compare/prints", comparison.ComparisonPrints, basename="api-compare-print")
router.register("advice", advice.AdviceView, basename="api-advice")

urlpatterns = [
    path("compare", comparison.Compare.as_view(), name="api-compare"),
    path("boards/<uuid:pk>", board.BoardView.as_view(), name="api-board"),
    path("drivers/<uuid:pk>/progress", progress.ProgressView.as_view(), name="api-driver-progress"),
    path("", include(router.urls)),
]
