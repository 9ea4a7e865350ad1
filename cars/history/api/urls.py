"""Addresses of the API of advice and the coach's board."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.history.api import advice, board

router = SimpleRouter(trailing_slash=False)
router.register("advice", advice.AdviceView, basename="api-advice")

urlpatterns = [
    path("boards/<uuid:pk>", board.BoardView.as_view(), name="api-board"),
    path("", include(router.urls)),
]
