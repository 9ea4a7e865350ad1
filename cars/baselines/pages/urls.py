"""Addresses of chassis, baselines and a team's own targets."""

from django.urls import path
from django.views.generic import RedirectView

from cars.baselines.pages import baselines, chassis, own_targets

urlpatterns = [
    path("clubs/<uuid:pk>/chassis/", chassis.chassis_list, name="chassis-list"),
    path("clubs/<uuid:pk>/chassis/new", chassis.chassis_add, name="chassis-new"),
    path("chassis/<uuid:pk>/", chassis.chassis, name="chassis"),
    path("chassis/<uuid:pk>/change", chassis.chassis_edit, name="chassis-edit"),
    path("chassis/<uuid:pk>/mounts/new", chassis.mount_add, name="mount-new"),
    path("chassis/<uuid:pk>/baselines/new", baselines.baseline_draft, name="baseline-draft"),
    path("baselines/<uuid:pk>/", baselines.baseline, name="baseline"),
    path("baselines/<uuid:pk>/publish", baselines.baseline_publish, name="baseline-publish"),
    path("baselines/<uuid:pk>/copy", baselines.baseline_copy, name="baseline-copy"),
    path(
        "baselines/<uuid:pk>/targets/remove",
        baselines.baseline_value_remove,
        name="baseline-value-remove",
    ),
    path("baselines/<uuid:pk>/review", own_targets.baseline_review, name="baseline-review"),
    path("cars/<uuid:pk>/own-targets", own_targets.own_targets, name="own-targets"),
    path("cars/<uuid:pk>/baseline", own_targets.car_move_to_baseline, name="car-move-to-baseline"),
    path("own-targets/<uuid:pk>/drop", own_targets.own_target_drop, name="own-target-drop"),
    # As it was called before.
    path(
        "cars/<uuid:pk>/preferences",
        RedirectView.as_view(pattern_name="own-targets", query_string=True),
        name="old-own-targets",
    ),
]
