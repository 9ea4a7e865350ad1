"""Addresses of the API of one's own account."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from clubsetup.access.api.me import Me, Tokens

router = SimpleRouter(trailing_slash=False)
router.register("me/tokens", Tokens, basename="api-token")

urlpatterns = [path("me", Me.as_view(), name="api-me"), path("", include(router.urls))]
