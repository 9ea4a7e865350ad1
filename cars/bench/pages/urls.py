"""Addresses of the bench."""

from django.urls import path

from cars.bench.pages import bench, script

urlpatterns = [
    path("cars/<uuid:pk>/bench/new", bench.bench_start, name="bench-start"),
    path("sheets/<uuid:pk>/bench/", bench.bench, name="bench"),
    path("sheets/<uuid:pk>/bench/done", bench.bench_done, name="bench-done"),
    path("sheets/<uuid:pk>/bench/close", bench.bench_close, name="bench-close"),
    path("sheets/<uuid:pk>/bench/follow", bench.bench_follow, name="bench-follow"),
    path("sheets/<uuid:pk>/bench/<slug:step>/", bench.bench_step, name="bench-step"),
    path("sheets/<uuid:pk>/bench/<slug:step>/change", bench.bench_change, name="bench-change"),
    path("sheets/<uuid:pk>/bench/<slug:step>/now", script.bench_now, name="bench-now"),
    path("sheets/<uuid:pk>/bench/<slug:step>/save", script.bench_save, name="bench-save"),
    path("sheets/<uuid:pk>/bench/<slug:step>/undo", script.bench_undo, name="bench-undo"),
]
