"""Addresses of the history of cars."""

from django.urls import path

from cars.history.pages import advice, board, comparison, progress

urlpatterns = [
    path("compare", comparison.compare, name="compare"),
    path("compare/choose", comparison.choose, name="compare-choose"),
    path("compare/print", comparison.on_paper, name="compare-print"),
    path("compare/file", comparison.file, name="compare-file"),
    path("cars/<uuid:pk>/compare", comparison.of_car, name="car-compare"),
    path("advice/", advice.advice_list, name="advice-list"),
    path("advice/<uuid:pk>/", advice.advice, name="advice"),
    path("advice/<uuid:pk>/tick-off", advice.advice_tick_off, name="advice-tick-off"),
    path("cars/<uuid:pk>/advice", advice.car_advice, name="car-advice"),
    path("cars/<uuid:pk>/advise", advice.car_advise, name="car-advise"),
    path("boards/", board.boards, name="boards"),
    path("boards/<uuid:pk>/", board.board, name="board"),
    path("drivers/<uuid:pk>/progress", progress.progress, name="driver-progress"),
]
