"""Addresses of the API of handovers."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.handover.api.handovers import HandoverView

router = SimpleRouter(trailing_slash=False)
router.register("handovers", HandoverView, basename="api-handover")

urlpatterns = [path("", include(router.urls))]
