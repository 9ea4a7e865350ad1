"""Pages of a list."""

from typing import Any
from uuid import UUID

from rest_framework.exceptions import NotFound
from rest_framework.pagination import CursorPagination
from rest_framework.request import Request


class Pages(CursorPagination):
    """Pages by cursor over time-ordered ids: rows that arrive meanwhile shift nothing."""

    ordering = "-id"
    page_size_query_param = "page_size"
    max_page_size = 200

    def decode_cursor(self, request: Request) -> Any:
        """As CursorPagination; a cursor that points at no id is none of ours."""
        cursor = super().decode_cursor(request)
        try:
            if cursor is not None and cursor.position is not None:
                UUID(str(cursor.position))
        except ValueError as error:
            raise NotFound(self.invalid_cursor_message) from error
        return cursor
