"""Addresses of the pages, slice by slice."""

from django.urls import include, path

urlpatterns = [
    path("", include("cars.handover.pages.urls")),
    path("", include("cars.exchange.pages.export_urls")),
    path("", include("cars.exchange.pages.import_urls")),
    path("", include("cars.history.pages.urls")),
    path("", include("cars.runs.pages.urls")),
    path("", include("cars.runs.pages.suggestion_urls")),
    path("", include("cars.garage.pages.urls")),
    path("", include("cars.plans.pages.urls")),
    path("", include("cars.bench.pages.urls")),
    path("", include("cars.sheets.pages.urls")),
    path("", include("cars.baselines.pages.urls")),
]
