"""What the API's views of this room share."""

from typing import Any

from clubsetup.access.api.me import asking
from clubsetup.access.models import User
from teams.queries.reads import note_reader, note_readers
from teams.queries.roles import roles_of


class ByPerson:
    """A view that knows who asks, and hands their roles to its serializers."""

    request: Any

    @property
    def by(self) -> User:
        """The person asking."""
        return asking(self.request)

    def get_serializer_context(self) -> dict[str, Any]:
        """With the roles of the person asking (nobody's while the schema is made)."""
        context: dict[str, Any] = super().get_serializer_context()  # type: ignore[misc]
        if isinstance(getattr(self.request, "user", None), User):
            context["roles"] = roles_of(self.by)
        return context


class NotesReaderOfOne(ByPerson):
    """A view of a team's rows: who reads one from outside stands in the team's trail."""

    def get_object(self) -> Any:
        """The row, and the line of who read it."""
        row: Any = super().get_object()  # type: ignore[misc]
        note_reader(self.by, row.team_id, row)
        return row


class NotesReaders(NotesReaderOfOne):
    """The same, and of lists too."""

    def paginate_queryset(self, queryset: Any) -> Any:
        """The page, and a line for each team whose rows are on it."""
        rows = super().paginate_queryset(queryset)  # type: ignore[misc]
        note_readers(self.by, (row.team_id for row in rows))
        return rows
