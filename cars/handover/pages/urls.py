"""Addresses of handovers."""

from django.urls import path

from cars.handover.pages import handovers

urlpatterns = [
    path("cars/<uuid:pk>/handover", handovers.car_handover, name="car-handover"),
    path("cars/<uuid:pk>/handed", handovers.car_handed, name="car-handed"),
    path("handovers/", handovers.handovers, name="handovers"),
    path("handovers/take", handovers.take, name="handover-take"),
    path("handovers/<uuid:pk>/", handovers.handover, name="handover"),
    path("handovers/<uuid:pk>/withdraw", handovers.withdraw, name="handover-withdraw"),
    path("handovers/<uuid:pk>/take-back", handovers.take_back, name="handover-take-back"),
    path("runs/<uuid:pk>/handed", handovers.handed_run, name="handed-run"),
    path("sheets/<uuid:pk>/handed", handovers.handed_sheet, name="handed-sheet"),
]
