"""Addresses of the API of the official record."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from events.records.api import photos, records

router = SimpleRouter(trailing_slash=False)
router.register("ballast-photos", photos.BallastPhotos, basename="api-ballast-photo")

urlpatterns = [
    path("events/<uuid:pk>/records/erased-words", records.ErasedWords.as_view(), name="api-words"),
    path("events/<uuid:pk>/records", records.EventRecords.as_view(), name="api-records"),
    path(
        "events/<uuid:pk>/records/file",
        records.EventRecordsFile.as_view(),
        name="api-records-file",
    ),
    path("", include(router.urls)),
]
