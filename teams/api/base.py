"""What the API's views of this room share."""

from typing import Any

from django.db.models import QuerySet

from clubsetup.access.api.me import asking
from clubsetup.access.models import User
from teams.queries.reads import note_reader, note_readers
from teams.queries.roles import Roles, roles_of


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


class ListsOwnRows:
    """A list that asks for the rows of the viewer's own teams or clubs.

    Row security shows the same rows without it, but looks for them among those of all clubs.
    """

    request: Any
    action: str

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """All rows that the policy shows somebody with these roles, or more; never fewer."""
        raise NotImplementedError

    def get_queryset(self) -> QuerySet[Any]:
        """A list's own rows; one row is found by its id (and nobody lists while the schema is
        made)."""
        rows: QuerySet[Any] = super().get_queryset()  # type: ignore[misc]
        if self.action != "list" or not isinstance(getattr(self.request, "user", None), User):
            return rows
        own: QuerySet[Any] = self.own_rows(rows, roles_of(asking(self.request)))
        return own


class ListsOfTeams(ListsOwnRows):
    """What a team's members and its coaches read."""

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of the teams they may read."""
        return rows.of_teams(roles.readable_teams)


class ListsOfClubs(ListsOwnRows):
    """What everybody in a club reads."""

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of the clubs they are in."""
        return rows.of_clubs(roles.member_clubs)


class ListsOfTeamsAndDesks(ListsOwnRows):
    """What a team reads of itself, and a club's officials and stewards of everybody."""

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of the teams they may read, and of the clubs at whose desk they may stand."""
        return rows.of_teams_or_clubs(roles.readable_teams, roles.desk_clubs)


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
