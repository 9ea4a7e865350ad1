"""Addresses of the bench."""

from django.urls import path

from cars.bench.pages import bench
from cars.bench.pages import script as bench_api

urlpatterns = [
    path("cars/<uuid:pk>/bench/new", bench.bench_start, name="bench-start"),
    path("sheets/<uuid:pk>/bench/", bench.bench, name="bench"),
    path("sheets/<uuid:pk>/bench/done", bench.bench_done, name="bench-done"),
    path("sheets/<uuid:pk>/bench/close", bench.bench_close, name="bench-close"),
    path("sheets/<uuid:pk>/bench/follow", bench.bench_follow, name="bench-follow"),
    path("sheets/<uuid:pk>/bench/<slug:step>/", bench.bench_step, name="bench-step"),
    path("sheets/<uuid:pk>/bench/<slug:step>/change", bench.bench_change, name="bench-change"),
    path("sheets/<uuid:pk>/bench/<slug:step>/now", bench_api.bench_now, name="bench-now"),
    path("sheets/<uuid:pk>/bench/<slug:step>/save", bench_api.bench_save, name="bench-save"),
    path("sheets/<uuid:pk>/bench/<slug:step>/undo", bench_api.bench_undo, name="bench-undo"),
]
