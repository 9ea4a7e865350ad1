"""Addresses of the API of a bench, of parts and preferences, and of what helps at the bench."""

from django.urls import path

from cars.api import bench, beside, boxes, tools

urlpatterns = [
    path("cars/<uuid:pk>/bench-choices", bench.BenchChoices.as_view(), name="api-bench-choices"),
    path("cars/<uuid:pk>/benches", bench.CarBenches.as_view(), name="api-car-benches"),
    path("cars/<uuid:pk>/preferences", beside.CarPreferences.as_view(), name="api-car-prefers"),
    path(
        "cars/<uuid:pk>/move-to-baseline",
        beside.CarMoveToBaseline.as_view(),
        name="api-car-move-to-baseline",
    ),
    path("sheets/<uuid:pk>/bench", bench.SheetBench.as_view(), name="api-bench"),
    path("sheets/<uuid:pk>/bench/<slug:step>", bench.SheetBenchStep.as_view(), name="api-step-at"),
    path("sheets/<uuid:pk>/boxes", boxes.SheetBoxes.as_view(), name="api-boxes"),
    path("sheets/<uuid:pk>/boxes/<str:box>", boxes.SheetBox.as_view(), name="api-box"),
    path("sheets/<uuid:pk>/boxes/<str:box>/undo", boxes.SheetBoxUndo.as_view(), name="api-undo"),
    path(
        "sheets/<uuid:pk>/boxes/<str:box>/same-again",
        boxes.SheetBoxSameAgain.as_view(),
        name="api-same-again",
    ),
    path("sheets/<uuid:pk>/follow", bench.SheetFollow.as_view(), name="api-follow"),
    path("sheets/<uuid:pk>/trail", bench.SheetTrail.as_view(), name="api-sheet-trail"),
    path("sheets/<uuid:pk>/parts", beside.SheetParts.as_view(), name="api-sheet-parts"),
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
    path("baselines/<uuid:pk>/newer", beside.BaselineNewer.as_view(), name="api-newer"),
    path("baselines/<uuid:pk>/review", beside.BaselineReview.as_view(), name="api-review"),
]
