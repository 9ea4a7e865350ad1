"""Addresses of advice and the coach's board."""

from django.urls import path

from cars.history.pages import advice, board

urlpatterns = [
    path("advice/", advice.advice_list, name="advice-list"),
    path("advice/<uuid:pk>/", advice.advice, name="advice"),
    path("advice/<uuid:pk>/tick-off", advice.advice_tick_off, name="advice-tick-off"),
    path("cars/<uuid:pk>/advice", advice.car_advice, name="car-advice"),
    path("cars/<uuid:pk>/advise", advice.car_advise, name="car-advise"),
    path("boards/", board.boards, name="boards"),
    path("boards/<uuid:pk>/", board.board, name="board"),
]
