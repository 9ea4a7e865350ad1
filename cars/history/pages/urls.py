"""Addresses of the history of cars."""

from django.urls import path

from cars.history.pages import comparison

urlpatterns = [
    path("compare", comparison.compare, name="compare"),
    path("compare/choose", comparison.choose, name="compare-choose"),
    path("compare/print", comparison.on_paper, name="compare-print"),
    path("compare/file", comparison.file, name="compare-file"),
    path("cars/<uuid:pk>/compare", comparison.of_car, name="car-compare"),
]
