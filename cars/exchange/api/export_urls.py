"""Addresses of the API of what is taken away."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.exchange.api import archives, exports

router = SimpleRouter(trailing_slash=False)
router.register("exports", exports.Exports, basename="api-export")
router.register("archives", archives.Archives, basename="api-archive")

urlpatterns = [
    path("exports/schema", exports.ArchiveSchema.as_view(), name="api-export-schema"),
    path("", include(router.urls)),
]
