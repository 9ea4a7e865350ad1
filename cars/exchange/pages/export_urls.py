"""Addresses of what is taken away."""

from django.urls import path

from cars.exchange.pages import archives, exports

urlpatterns = [
    path("exports/", exports.exports, name="exports"),
    path("exports/<uuid:pk>/make", exports.make_export, name="export-make"),
    path("exports/<uuid:pk>/bring-in", archives.bring_in, name="archive-bring-in"),
    path("exports/archives/<uuid:pk>/", archives.archive, name="archive"),
    path("exports/archives/<uuid:pk>/attached", archives.attached, name="archive-attached"),
    path("exports/team-archive.schema.json", exports.schema, name="export-schema"),
]
