"""Addresses of the API of a bench."""

from django.urls import path

from cars.bench.api import boxes, views

urlpatterns = [
    path("cars/<uuid:pk>/bench-choices", views.BenchChoices.as_view(), name="api-bench-choices"),
    path("cars/<uuid:pk>/benches", views.CarBenches.as_view(), name="api-car-benches"),
    path("sheets/<uuid:pk>/bench", views.SheetBench.as_view(), name="api-bench"),
    path("sheets/<uuid:pk>/bench/<slug:step>", views.SheetBenchStep.as_view(), name="api-step-at"),
    path("sheets/<uuid:pk>/boxes", boxes.SheetBoxes.as_view(), name="api-boxes"),
    path("sheets/<uuid:pk>/boxes/<str:box>", boxes.SheetBoxView.as_view(), name="api-box"),
    path("sheets/<uuid:pk>/boxes/<str:box>/undo", boxes.SheetBoxUndo.as_view(), name="api-undo"),
    path(
        "sheets/<uuid:pk>/boxes/<str:box>/same-again",
        boxes.SheetBoxSameAgain.as_view(),
        name="api-same-again",
    ),
    path("sheets/<uuid:pk>/follow", views.SheetFollow.as_view(), name="api-follow"),
    path("sheets/<uuid:pk>/trail", views.SheetTrail.as_view(), name="api-sheet-trail"),
]
