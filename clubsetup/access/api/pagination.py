"""Pages of a list."""

from rest_framework.pagination import CursorPagination


class Pages(CursorPagination):
    """Pages by cursor over time-ordered ids: rows that arrive meanwhile shift nothing."""

    ordering = "-id"
    page_size_query_param = "page_size"
    max_page_size = 200
