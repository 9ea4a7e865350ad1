"""Addresses of the API of the order of work."""

from rest_framework.routers import SimpleRouter

from cars.catalogue import api

router = SimpleRouter(trailing_slash=False)
router.register("steps", api.Steps, basename="api-step")
router.register("measures", api.Measures, basename="api-measure")

urlpatterns = router.urls
