"""Addresses of what is taken away."""

from django.urls import path

from cars.exchange.pages import exports

urlpatterns = [
    path("exports/", exports.exports, name="exports"),
    path("exports/<uuid:pk>/make", exports.make_export, name="export-make"),
    path("exports/team-archive.schema.json", exports.schema, name="export-schema"),
]
