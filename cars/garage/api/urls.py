"""Addresses of the API of cars, parts and ballast pieces."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from cars.garage.api import views

router = SimpleRouter(trailing_slash=False)
router.register("cars", views.Cars, basename="api-car")
router.register("parts", views.Parts, basename="api-part")
router.register("ballast-pieces", views.BallastPieces, basename="api-ballast-piece")

urlpatterns = [
    path("", include(router.urls)),
]
