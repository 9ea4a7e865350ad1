"""Addresses of the pages of the official record."""

from django.urls import path

from events.records.pages import photos, records

urlpatterns = [
    path("events/<uuid:pk>/records/words", records.words_erase, name="records-words"),
    path("events/<uuid:pk>/records", records.records, name="records"),
    path("events/<uuid:pk>/records.<slug:kind>", records.records_file, name="records-file"),
    path("ballast-checks/<uuid:pk>/photo", photos.ballast_photo_new, name="ballast-photo-new"),
    path("ballast-photos/<uuid:pk>/", photos.ballast_photo, name="ballast-photo"),
    path(
        "ballast-photos/<uuid:pk>/photo.jpg",
        photos.ballast_photo_file,
        name="ballast-photo-file",
    ),
    path(
        "ballast-photos/<uuid:pk>/small.jpg",
        photos.ballast_photo_small,
        name="ballast-photo-small",
    ),
]
