"""What the API's views of this room share."""

from typing import Any

from clubsetup.access.api.me import asking
from clubsetup.access.models import User
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
