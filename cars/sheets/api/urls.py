"""Addresses of the API of sheets."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.sheets.api import at_track, parts_fitted, views

router = SimpleRouter(trailing_slash=False)
router.register("sheets", views.Sheets, basename="api-sheet")
router.register("readings", views.Readings, basename="api-reading")
router.register("changes", views.Changes, basename="api-change")
router.register("comments", views.Comments, basename="api-comment")

urlpatterns = [
    path("sheets/<uuid:pk>/parts", parts_fitted.SheetParts.as_view(), name="api-sheet-parts"),
    path("sheets/<uuid:pk>/at-track", at_track.SheetAtTrack.as_view(), name="api-sheet-at-track"),
    path("", include(router.urls)),
]
