"""Creating through the API with an id that the client made."""

from typing import Any
from uuid import UUID

from django.db.models import Model
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from clubsetup.access.idempotency import create_once


class CreateOnceSerializer(serializers.Serializer[Any]):
    """Base of what is sent to create a row: the client may choose its id."""

    id = serializers.UUIDField(
        required=False,
        help_text="Made by the client (a UUID, version 7); the server makes one if left out.",
    )


class CreateOnceMixin(GenericViewSet[Any]):
    """`POST` to a list. The view says `make`; sending the same twice makes one row.

    201 with the new row; 200 with the existing one where the same person sent the same content
    under the same id before; 409 where the id is taken in any other way.

    `create_serializer_class` reads what is sent (it has an optional `id`, as
    `CreateOnceSerializer` gives it); the view's own serializer writes the answer. Where they are
    one class, leave it out.
    """

    create_serializer_class: type[serializers.BaseSerializer[Any]] | None = None

    def make(self, *, row_id: UUID, **given: Any) -> Model:
        """Runs the action that makes the row under `row_id`; `given` is the validated rest."""
        raise NotImplementedError

    def sent(self, request: Request) -> Any:
        """All that was sent, to hold it to what comes again; override where it holds a file."""
        return request.data

    def answer(self, row: Model) -> dict[str, Any]:
        """The row as the view's own serializer writes it; override to write it in another way."""
        written = super().get_serializer_class()
        data: dict[str, Any] = written(row, context=self.get_serializer_context()).data
        return data

    def get_serializer_class(self) -> type[serializers.BaseSerializer[Any]]:
        """What reads a creation, or the view's own."""
        if getattr(self, "action", "") == "create" and self.create_serializer_class:
            return self.create_serializer_class
        return super().get_serializer_class()

    def create(self, request: Request, **_: Any) -> Response:
        """Makes one row, however often it is sent."""
        given = self.get_serializer(data=request.data)
        given.is_valid(raise_exception=True)
        content = dict(given.validated_data)
        row_id: UUID | None = content.pop("id", None)
        row, made = create_once(
            by=request.user,  # type: ignore[arg-type]  # the permission let in people only
            row_id=row_id,
            content=[request.path, self.sent(request)],
            make=lambda chosen: self.make(row_id=chosen, **content),
            find=lambda chosen: self.get_queryset().filter(pk=chosen).first(),
        )
        return Response(self.answer(row), status.HTTP_201_CREATED if made else status.HTTP_200_OK)


def creates(written: type[serializers.BaseSerializer[Any]], read: Any = None, **more: Any) -> Any:
    """Describes a `CreateOnceMixin` view in the schema: `@extend_schema_view(create=creates(...))`.

    `written` answers, `read` (or `written`) is what is sent.
    """
    return extend_schema(
        request=read or written,
        responses={
            201: written,
            200: OpenApiResponse(
                written, "The same was sent before under this id: the existing row."
            ),
            409: OpenApiResponse(description="The id is taken."),
        },
        **more,
    )
