"""Addresses of the pages of cars, sheets, chassis and baselines."""

from django.urls import path

from cars.pages import baselines, bench_urls, cars, chassis, parts, plan_urls, readings, sheets

urlpatterns = [
    *bench_urls.urlpatterns,
    path("cars/", cars.cars, name="cars"),
    path("cars/<uuid:pk>/", cars.car, name="car"),
    path("cars/<uuid:pk>/change", cars.car_edit, name="car-edit"),
    path("cars/<uuid:pk>/sheets/", cars.car_sheets, name="car-sheets"),
    path("cars/<uuid:pk>/sheets/new", sheets.sheet_open, name="sheet-open"),
    path("teams/<uuid:pk>/cars/new", cars.car_add, name="car-new"),
    path("teams/<uuid:pk>/parts/", parts.parts, name="parts"),
    path("teams/<uuid:pk>/parts/new", parts.part_add, name="part-new"),
    path("teams/<uuid:pk>/ballast/", parts.ballast, name="ballast"),
    path("teams/<uuid:pk>/ballast/new", parts.piece_add, name="piece-new"),
    path("parts/<uuid:pk>/mark", parts.part_code, name="part-code"),
    path("ballast-pieces/<uuid:pk>/move", parts.piece_move, name="piece-move"),
    path("ballast-pieces/<uuid:pk>/retire", parts.piece_retire, name="piece-retire"),
    path("sheets/<uuid:pk>/", sheets.sheet, name="sheet"),
    path("sheets/<uuid:pk>/readings", readings.sheet_readings, name="sheet-readings"),
    path("sheets/<uuid:pk>/change", sheets.sheet_edit, name="sheet-edit"),
    path("sheets/<uuid:pk>/close", sheets.sheet_close, name="sheet-close"),
    path("sheets/<uuid:pk>/correct", sheets.sheet_correct, name="sheet-correct"),
    path("sheets/<uuid:pk>/comments", sheets.sheet_comment, name="sheet-comment"),
    path("sheets/<uuid:pk>/changes/new", sheets.sheet_change, name="sheet-change"),
    path("sheets/<uuid:pk>/history", sheets.sheet_history, name="sheet-history"),
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
    *plan_urls.urlpatterns,
]
