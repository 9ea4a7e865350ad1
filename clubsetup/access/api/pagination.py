"""Pages of a list."""

from typing import Any
from uuid import UUID

from rest_framework.exceptions import NotFound
from rest_framework.pagination import CursorPagination
from rest_framework.request import Request

from clubsetup.access.errors import NoSuchPage


class Pages(CursorPagination):
    """Pages by cursor over time-ordered ids: rows that arrive meanwhile shift nothing."""

    ordering = "-id"
    page_size_query_param = "page_size"
    max_page_size = 200

    def decode_cursor(self, request: Request) -> Any:
        """As CursorPagination; a cursor that is none, or points at no id, is refused as any list
        refuses a page it does not have."""
        try:
            cursor = super().decode_cursor(request)
            if cursor is not None and cursor.position is not None:
                UUID(str(cursor.position))
        except (NotFound, ValueError) as error:
            raise NoSuchPage(self.cursor_query_param) from error
        return cursor
