"""Pages of a list."""

from rest_framework.pagination import CursorPagination


class Pages(CursorPagination):
    """Pages by cursor: nothing is shown twice or lost when rows arrive meanwhile. Ids are time-ordered."""

    ordering = "-id"
    page_size_query_param = "page_size"
    max_page_size = 200
