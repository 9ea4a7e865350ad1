"""What the API's views and serializers of this room share."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from rest_framework import mixins, serializers
from rest_framework.viewsets import GenericViewSet

from clubsetup.access.api.creating import CreateOnceMixin
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import CANONICAL
from teams.api.base import ByPerson
from teams.models import Club

SPOTS_HELP = "LF, RF, LR, RR, front, rear, left, right or car."


class Listed(ByPerson, mixins.ListModelMixin, mixins.RetrieveModelMixin, GenericViewSet[Any]):
    """Rows that the person asking can see: a list, and each by its id."""


class InClubUnits(CreateOnceMixin):
    """A view in which a bare number is in the club's units, or the person's own over them.

    `club_by` says what leads from the row that is sent under `club_from` to its club.
    """

    club_from = "team"
    club_by = "teams__pk"
    request: Any

    def get_serializer_context(self) -> dict[str, Any]:
        """With the units."""
        context: dict[str, Any] = {**super().get_serializer_context()}
        user = getattr(self.request, "user", None)
        data = getattr(self.request, "data", None)
        if not isinstance(user, User) or not isinstance(data, dict):
            return context
        try:
            sent = UUID(str(data.get(self.club_from)))
        except ValueError:
            return context
        club = Club.objects.filter(**{self.club_by: sent}).first()
        return {**context, "units": user.units(club.units())} if club else context


class QuantitySerializer(serializers.Serializer[Any]):
    """A quantity of whichever kind the measure is."""

    value = serializers.CharField(help_text="Canonical, an exact decimal.")
    unit = serializers.CharField(help_text="Canonical: mm, kg, deg, kPa, N/mm, ...")
    typed = serializers.CharField(help_text="As it was typed.")


def quantity_json(value: Decimal | None, kind: str, typed: str) -> dict[str, str] | None:
    """A value of a measure as the API writes it; None for words and checks."""
    if value is None or not kind:
        return None
    plain = f"{value.normalize():f}"
    return {"value": plain, "unit": CANONICAL[Kind(kind)], "typed": typed}


def perhaps(model: Any) -> Any:
    """A row the person asking can see, or none."""
    return serializers.PrimaryKeyRelatedField(
        queryset=model._default_manager.all(), required=False, allow_null=True, default=None
    )


def words(length: int = 2000) -> Any:
    """Text that may be left out."""
    return serializers.CharField(max_length=length, required=False, allow_blank=True, default="")
