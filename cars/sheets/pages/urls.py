"""Addresses of sheets."""

from django.urls import path

from cars.sheets.pages import parts_fitted, readings, sheets

urlpatterns = [
    path("cars/<uuid:pk>/sheets/new", sheets.sheet_open, name="sheet-open"),
    path("sheets/<uuid:pk>/", sheets.sheet, name="sheet"),
    path("sheets/<uuid:pk>/readings", readings.sheet_readings, name="sheet-readings"),
    path("sheets/<uuid:pk>/change", sheets.sheet_edit, name="sheet-edit"),
    path("sheets/<uuid:pk>/close", sheets.sheet_close, name="sheet-close"),
    path("sheets/<uuid:pk>/correct", sheets.sheet_correct, name="sheet-correct"),
    path("sheets/<uuid:pk>/comments", sheets.sheet_comment, name="sheet-comment"),
    path("sheets/<uuid:pk>/changes/new", sheets.sheet_change, name="sheet-change"),
    path("sheets/<uuid:pk>/history", sheets.sheet_history, name="sheet-history"),
    path("sheets/<uuid:pk>/parts", parts_fitted.sheet_parts, name="sheet-parts"),
]
