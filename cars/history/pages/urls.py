"""Addresses of the history of cars."""

from django.urls import path

from cars.history.pages import (
    advice,
    back_to_track,
    board,
    car_history,
    comparison,
    parts_life,
    progress,
)

urlpatterns = [
    path("compare", comparison.compare, name="compare"),
    path("compare/choose", comparison.choose, name="compare-choose"),
    path("compare/print", comparison.on_paper, name="compare-print"),
    path("compare/file", comparison.file, name="compare-file"),
    path("cars/<uuid:pk>/compare", comparison.of_car, name="car-compare"),
    path("cars/<uuid:pk>/history", car_history.history, name="car-history"),
    path("cars/<uuid:pk>/seasons/<int:year>", car_history.season, name="car-season"),
    path("drivers/<uuid:pk>/seasons", car_history.driver_seasons, name="driver-seasons"),
    path("cars/<uuid:pk>/back-to-track", back_to_track.back_to_track, name="back-to-track"),
    path("sheets/<uuid:pk>/way-back", back_to_track.way_back_page, name="way-back"),
    path("advice/", advice.advice_list, name="advice-list"),
    path("advice/<uuid:pk>/", advice.advice, name="advice"),
    path("advice/<uuid:pk>/tick-off", advice.advice_tick_off, name="advice-tick-off"),
    path("cars/<uuid:pk>/advice", advice.car_advice, name="car-advice"),
    path("cars/<uuid:pk>/advise", advice.car_advise, name="car-advise"),
    path("boards/", board.boards, name="boards"),
    path("boards/<uuid:pk>/", board.board, name="board"),
    path("parts/<uuid:pk>/", parts_life.part, name="part"),
    path("parts/<uuid:pk>/start", parts_life.part_start, name="part-start"),
    path("parts/<uuid:pk>/limit", parts_life.part_limit, name="part-limit"),
    path("part-limits/<uuid:pk>/remove", parts_life.part_limit_remove, name="part-limit-remove"),
    path("teams/<uuid:pk>/part-limits/", parts_life.part_limits, name="part-limits"),
    path("teams/<uuid:pk>/part-limits/new", parts_life.part_limit_new, name="part-limit-new"),
    path("clubs/<uuid:pk>/part-limits/", parts_life.club_part_limits, name="club-part-limits"),
    path(
        "clubs/<uuid:pk>/part-limits/new",
        parts_life.club_part_limit_new,
        name="club-part-limit-new",
    ),
    path("drivers/<uuid:pk>/progress", progress.progress, name="driver-progress"),
]
