"""Addresses of the API of one's own account."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from clubsetup.access.api.me import Me, SignIns, Tokens

router = SimpleRouter(trailing_slash=False)
router.register("me/tokens", Tokens, basename="api-token")
router.register("me/sign-ins", SignIns, basename="api-sign-in")

urlpatterns = [path("me", Me.as_view(), name="api-me"), path("", include(router.urls))]
