"""Addresses of cars, parts and ballast pieces."""

from django.urls import path
from django.views.generic import RedirectView

from cars.garage.pages import cars, parts

urlpatterns = [
    path("cars/", cars.cars, name="cars"),
    path("cars/<uuid:pk>/", cars.car, name="car"),
    path("cars/<uuid:pk>/change", cars.car_edit, name="car-edit"),
    path("cars/<uuid:pk>/sheets/", cars.car_sheets, name="car-sheets"),
    path("teams/<uuid:pk>/cars/new", cars.car_add, name="car-new"),
    path("teams/<uuid:pk>/parts/", parts.parts, name="parts"),
    path("teams/<uuid:pk>/parts/new", parts.part_add, name="part-new"),
    path("teams/<uuid:pk>/ballast/", parts.ballast, name="ballast"),
    path("teams/<uuid:pk>/ballast/new", parts.piece_add, name="piece-new"),
    path("parts/<uuid:pk>/code", parts.part_code, name="part-code"),
    path("ballast-pieces/<uuid:pk>/move", parts.piece_move, name="piece-move"),
    path("ballast-pieces/<uuid:pk>/retire", parts.piece_retire, name="piece-retire"),
    # As it was called before.
    path(
        "parts/<uuid:pk>/mark",
        RedirectView.as_view(pattern_name="part-code"),
        name="old-part-code",
    ),
]
