"""Addresses of the prints: api."""

from rest_framework.routers import SimpleRouter

from clubsetup.printing.api.views import Prints

router = SimpleRouter(trailing_slash=False)
router.register("prints", Prints, basename="api-print")

urlpatterns = router.urls
