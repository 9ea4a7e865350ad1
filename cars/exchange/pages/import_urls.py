"""Addresses of imports."""

from django.urls import path

from cars.exchange.pages import import_pages as pages

urlpatterns = [
    path("cars/<uuid:pk>/imports", pages.car_imports, name="car-imports"),
    path("teams/<uuid:pk>/imports", pages.imports, name="imports"),
    path("imports/<uuid:pk>/", pages.import_page, name="import"),
    path("imports/<uuid:pk>/state", pages.import_state, name="import-state"),
    path("imports/<uuid:pk>/confirm", pages.import_confirm, name="import-confirm"),
    path("imports/<uuid:pk>/drop", pages.import_drop, name="import-drop"),
    path("imports/<uuid:pk>/withdraw", pages.import_withdraw, name="import-withdraw"),
]
