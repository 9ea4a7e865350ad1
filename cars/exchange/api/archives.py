"""Archives that come in over the API, under new ids."""

import hashlib
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema_view
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.viewsets import GenericViewSet

from cars.exchange.actions.archive_import import import_archive
from cars.exchange.files.archive_input import (
    IN_THE_REQUEST,
    MOST_BYTES,
    archive_in,
    json_of,
)
from cars.models import ImportedArchive
from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.api.parsers import MultiPartParser
from clubsetup.access.errors import Invalid
from teams.api.base import ByPerson, ListsOfTeams
from teams.models import Team

LARGE = (
    f"It is larger than {IN_THE_REQUEST // 2**20} MB unpacked. Send it to `imports` as of the kind "
    "`archive`: there it comes in in the background."
)


class ArchiveCreateSerializer(CreateOnceSerializer):
    """An archive, and the team that it comes into."""

    team = serializers.PrimaryKeyRelatedField(queryset=Team.objects.select_related("club"))
    file = serializers.FileField(
        help_text=f"The ZIP, or its `team.json`; at most {IN_THE_REQUEST // 2**20} MB unpacked, "
        f"and up to {MOST_BYTES // 2**20} MB as an import of the kind `archive`."
    )

    def validate_file(self, sent: Any) -> Any:
        """The archive, if it is one."""
        try:
            content = json_of(sent.file)
            if len(content) > IN_THE_REQUEST:
                raise serializers.ValidationError(LARGE)
            return archive_in(content)
        except Invalid as refusal:
            raise serializers.ValidationError(refusal.message) from refusal


LISTED = (
    *("id", "team", "by", "created_at"),
    *("source_team", "source_club", "made_at", "digest"),
)


class ArchiveSerializer(serializers.ModelSerializer[ImportedArchive]):
    """An archive that came in."""

    class Meta:
        model = ImportedArchive
        fields = read_only_fields = LISTED


class ArchiveDetailSerializer(serializers.ModelSerializer[ImportedArchive]):
    """An archive with the source's ids, and what is there to be read alone."""

    source_ids = serializers.JSONField(help_text="By kind: the id that a row had, by its id here.")
    attached = serializers.JSONField(help_text="What officials and coaches wrote, as it came.")

    class Meta:
        model = ImportedArchive
        fields = read_only_fields = (*LISTED, "source_ids", "attached")


@extend_schema_view(create=creates(ArchiveDetailSerializer, ArchiveCreateSerializer))
class Archives(
    ListsOfTeams,
    ByPerson,
    CreateOnceMixin,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    GenericViewSet[ImportedArchive],
):
    """Archives of teams that came in, sent as `multipart/form-data`; for the crew of the team."""

    queryset = ImportedArchive.objects.order_by("-id")
    serializer_class = ArchiveDetailSerializer
    create_serializer_class = ArchiveCreateSerializer
    filterset_fields = ("team", "digest")
    parser_classes = (MultiPartParser,)

    def get_serializer_class(self) -> type[serializers.BaseSerializer[Any]]:
        """A list leaves the content out."""
        return ArchiveSerializer if self.action == "list" else super().get_serializer_class()

    def get_queryset(self) -> Any:
        """As the serializer."""
        rows = super().get_queryset()
        return rows.defer("source_ids", "attached") if self.action == "list" else rows

    def make(self, *, row_id: UUID, **given: Any) -> ImportedArchive:
        """As CreateOnceMixin."""
        return import_archive(
            by=self.by, team=given["team"], archive=given["file"], archive_id=row_id
        )

    def sent(self, request: Request) -> Any:
        """As CreateOnceMixin: of the file its hash."""
        form: Any = request.data
        file = form["file"]
        file.seek(0)
        return {**form.dict(), "file": hashlib.sha256(file.read()).hexdigest()}
