"""Addresses of the API of chassis, baselines and a team's own targets."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.baselines.api import preferences, views

router = SimpleRouter(trailing_slash=False)
router.register("chassis", views.ChassisViews, basename="api-chassis")
router.register("ballast-mounts", views.Mounts, basename="api-ballast-mount")
router.register("baselines", views.Baselines, basename="api-baseline")
router.register("preferences", preferences.Preferences, basename="api-preference")

urlpatterns = [
    path(
        "cars/<uuid:pk>/preferences",
        preferences.CarPreferencesView.as_view(),
        name="api-car-prefers",
    ),
    path(
        "cars/<uuid:pk>/move-to-baseline",
        preferences.CarMoveToBaseline.as_view(),
        name="api-car-move-to-baseline",
    ),
    path("baselines/<uuid:pk>/newer", preferences.BaselineNewer.as_view(), name="api-newer"),
    path("baselines/<uuid:pk>/review", preferences.BaselineReview.as_view(), name="api-review"),
    path("", include(router.urls)),
]
