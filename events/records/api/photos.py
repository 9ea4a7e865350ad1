"""The API of photos of ballast: sent as a form with a file, read as JSON and as a picture."""

import hashlib
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiResponse,
    extend_schema,
    extend_schema_field,
    extend_schema_view,
)
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.api.me import asking
from clubsetup.access.api.parsers import MultiPartParser
from events.models import BallastCheck, BallastPhoto
from events.models.photo import MOST_PHOTOS
from events.records.actions.photos import photograph_ballast
from events.records.api.base import RECORD, FileRenderer
from events.records.responses import photo_response
from events.rules.photo import MOST_SENT, too_large
from teams.api.base import ListsOfTeamsAndDesks


class BallastPhotoSerializer(serializers.ModelSerializer[BallastPhoto]):
    """One photo of a piece; out of force with its ballast check."""

    file = serializers.SerializerMethodField(help_text="Where the JPEG is.")

    class Meta:
        model = BallastPhoto
        fields = (*RECORD, "ballast_check", "number", "width", "height", "sha256", "file")

    @extend_schema_field({"type": "string", "format": "uri-reference"})
    def get_file(self, photo: BallastPhoto) -> str:
        """The file's address."""
        return reverse("api-ballast-photo-file", args=[photo.pk])


class BallastPhotoCreateSerializer(CreateOnceSerializer):
    """A photo for a ballast check that stands."""

    ballast_check = serializers.PrimaryKeyRelatedField(
        queryset=BallastCheck.objects.select_related("entry__event", "entry__club")
    )
    photo = serializers.FileField(
        help_text=f"JPEG, PNG or WebP, at most {MOST_SENT // 1_000_000} MB. Kept as a smaller JPEG "
        f"without metadata; a check has {MOST_PHOTOS} at most."
    )
    device_at = serializers.DateTimeField(required=False, allow_null=True, default=None)

    def validate_photo(self, sent: Any) -> bytes:
        """What was sent, as it came."""
        if (sent.size or 0) > MOST_SENT:
            raise serializers.ValidationError(too_large())
        content: bytes = sent.read()
        return content


class JpegRenderer(FileRenderer):
    """For `image/jpeg`."""

    media_type = "image/jpeg"
    format = "jpg"


@extend_schema_view(create=creates(BallastPhotoSerializer, BallastPhotoCreateSerializer))
class BallastPhotos(
    ListsOfTeamsAndDesks, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """Photos of pieces of ballast; sent as `multipart/form-data`."""

    queryset = BallastPhoto.objects.listed().order_by("-id")
    serializer_class = BallastPhotoSerializer
    create_serializer_class = BallastPhotoCreateSerializer
    filterset_fields = ("entry", "entry__event", "ballast_check")
    parser_classes = (MultiPartParser,)

    def make(self, *, row_id: UUID, **given: Any) -> BallastPhoto:
        """Keeps a photo."""
        return photograph_ballast(by=asking(self.request), photo_id=row_id, **given)

    def sent(self, request: Request) -> Any:
        """As CreateOnceMixin: of the file its hash."""
        form: Any = request.data
        file = form["photo"]
        file.seek(0)
        return {**form.dict(), "photo": hashlib.sha256(file.read()).hexdigest()}

    @extend_schema(
        responses={
            (200, "image/jpeg"): OpenApiTypes.BINARY,
            404: OpenApiResponse(description="There is none, or it is not yours to see."),
        }
    )
    @action(
        detail=True,
        url_path="file",
        renderer_classes=[JSONRenderer, JpegRenderer],
        filterset_fields=(),
        pagination_class=None,
    )
    def file(self, request: Request, **_: Any) -> HttpResponse:
        """The picture."""
        return photo_response(self.get_object())
