"""The site's addresses. Rooms are named by their path, so that no floor imports one above it."""

from django.urls import URLPattern, URLResolver, include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView

from clubsetup.site import look_page, security

api: list[URLPattern | URLResolver] = [
    path("", include("clubsetup.access.api.urls")),
    path("", include("teams.api.urls")),
    path("", include("cars.api_urls")),
    path("", include("events.api.urls")),
    path("", include("clubsetup.printing.api.urls")),
    path("schema", SpectacularAPIView.as_view(), name="api-schema"),
    path("", SpectacularSwaggerSplitView.as_view(url_name="api-schema"), name="api-reference"),
]

handler400 = "clubsetup.site.error_views.bad_request"
handler404 = "clubsetup.site.error_views.not_found"
handler500 = "clubsetup.site.error_views.server_error"

urlpatterns: list[URLPattern | URLResolver] = [
    path("accounts/", include("allauth.urls")),
    path("api/v1/", include(api)),
    path("me/", include("clubsetup.access.pages.urls")),
    path("look/", look_page.look, name="look"),
    path("privacy", security.privacy, name="privacy"),
    path(".well-known/security.txt", security.security_txt, name="security-txt"),
    path("prints/", include("clubsetup.printing.pages.urls")),
    path("", include("teams.pages.urls")),
    path("", include("cars.urls")),
    path("", include("events.pages.urls")),
]
