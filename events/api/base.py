"""What the API's views of this room share."""

from typing import Any
from uuid import UUID

from clubsetup.access.models import User
from teams.models import Club


class PostInClubUnits:
    """A view in which a bare number sent is in the club's units, or the person's own over them.

    `club_from` names what is sent that leads to the club; `club_sent` finds the club by it.
    """

    club_from = "entry"
    request: Any

    def club_sent(self, sent_id: UUID) -> Club | None:
        """The club that the row sent is of; None where it cannot be seen."""
        raise NotImplementedError

    def get_serializer_context(self) -> dict[str, Any]:
        """With the units."""
        context: dict[str, Any] = super().get_serializer_context()  # type: ignore[misc]
        user = getattr(self.request, "user", None)
        if not isinstance(user, User) or self.request.method != "POST":
            return context
        sent = self.request.data.get(self.club_from) if _is_object(self.request.data) else None
        try:
            club = self.club_sent(UUID(str(sent)))
        except ValueError:
            return context
        return {**context, "units": user.units(club.units())} if club else context


def _is_object(data: Any) -> bool:
    return hasattr(data, "get")
