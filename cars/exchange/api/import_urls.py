"""Addresses of the API of imports."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.exchange.api.imports import ImportView

router = SimpleRouter(trailing_slash=False)
router.register("imports", ImportView, basename="api-import")

urlpatterns = [path("", include(router.urls))]
