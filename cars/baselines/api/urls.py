"""Addresses of the API of chassis, baselines and a team's own targets."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.baselines.api import own_targets, views

router = SimpleRouter(trailing_slash=False)
router.register("chassis", views.ChassisViews, basename="api-chassis")
router.register("ballast-mounts", views.Mounts, basename="api-ballast-mount")
router.register("baselines", views.Baselines, basename="api-baseline")
router.register("own-targets", own_targets.OwnTargets, basename="api-own-target")

urlpatterns = [
    path(
        "cars/<uuid:pk>/own-targets",
        own_targets.CarOwnTargetsView.as_view(),
        name="api-car-own-targets",
    ),
    path(
        "cars/<uuid:pk>/move-to-baseline",
        own_targets.CarMoveToBaseline.as_view(),
        name="api-car-move-to-baseline",
    ),
    path("baselines/<uuid:pk>/newer", own_targets.BaselineNewer.as_view(), name="api-newer"),
    path("baselines/<uuid:pk>/review", own_targets.BaselineReview.as_view(), name="api-review"),
    path("", include(router.urls)),
]
