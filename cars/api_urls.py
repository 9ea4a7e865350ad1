"""Addresses of the API, slice by slice."""

from django.urls import include, path

urlpatterns = [
    path("", include("cars.catalogue.api_urls")),
    path("", include("cars.baselines.api.urls")),
    path("", include("cars.sheets.api.urls")),
    path("", include("cars.bench.api.urls")),
    path("", include("cars.plans.api.urls")),
    path("", include("cars.garage.api.urls")),
    path("", include("cars.runs.api.urls")),
    path("", include("cars.history.api.urls")),
    path("", include("cars.handover.api.urls")),
    path("", include("cars.exchange.api.export_urls")),
    path("", include("cars.exchange.api.import_urls")),
]
