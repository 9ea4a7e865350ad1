"""Making a row at an address of its own, under an id that the client may choose."""

from collections.abc import Callable
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Model
from drf_spectacular.utils import OpenApiResponse
from rest_framework import status
from rest_framework.request import Request

from clubsetup.access.api.me import asking
from clubsetup.access.idempotency import create_once

M = TypeVar("M", bound=Model)
OWN_ID = "Made by the client (a UUID, version 7); the server makes one if left out."


def by_id(model: type[M]) -> Callable[[UUID], M | None]:
    """Finds a row of the model that whoever asks may see."""
    return lambda row_id: model._default_manager.filter(pk=row_id).first()


def made_once(
    request: Request,
    row_id: UUID | None,
    make: Callable[[UUID], M],
    find: Callable[[UUID], M | None],
) -> tuple[M, int]:
    """The row and the answer's status: 201 where it was made now, 200 where it was made before.

    As for every list that rows are sent to: the same sent twice under one id makes one row, and
    anything else under that id is refused with 409.
    """
    row, made = create_once(
        by=asking(request),
        row_id=row_id,
        content=[request.path, request.data],
        make=make,
        find=find,
    )
    return row, status.HTTP_201_CREATED if made else status.HTTP_200_OK


def answers_once(written: Any) -> dict[int, Any]:
    """The answers of such an address, for the schema."""
    return {
        201: written,
        200: OpenApiResponse(written, "The same was sent before under this id: what it made."),
        409: OpenApiResponse(description="Not now, or the id is taken; the detail says which."),
    }
