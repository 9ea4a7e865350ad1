"""The API of scale checks: added by officials, read by the club's members, never changed."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema_view
from rest_framework import mixins, serializers

from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.api.me import asking
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from events.actions.scale_checks import LoadRead, check_scales
from events.api.base import PostInClubUnits
from events.api.serializers import row
from events.models import ScaleCheck, ScaleSet
from events.queries.scales import FOUR
from events.rules.corrections import WHOLE
from teams.api.base import ListsOfClubs
from teams.models import Club


class CheckedLoadSerializer(serializers.Serializer[Any]):
    """One pad with one reference mass on it; masses in kg as text, exact."""

    pad = serializers.CharField()
    reference = serializers.CharField()
    indicated = serializers.CharField()
    added = serializers.CharField(allow_null=True)
    error = serializers.CharField(help_text="The correction is this with its sign turned round.")
    allowed = serializers.CharField(help_text="OIML R 76, class III, in service.")
    u = serializers.CharField(help_text="Standard uncertainty of the error.")
    within = serializers.BooleanField()
    typed = serializers.DictField(child=serializers.CharField())


class ScaleCheckSerializer(serializers.ModelSerializer[ScaleCheck]):
    """One check of a scale set; the newest of the last 16 hours stands."""

    division = TypedQuantity(kind=Kind.MASS, typed_from="scale_set.division_typed", read_only=True)
    loads = CheckedLoadSerializer(many=True)

    class Meta:
        model = ScaleCheck
        fields = (
            "id",
            "scale_set",
            "by",
            "created_at",
            "device_at",
            "division",
            "pads_level",
            "level_note",
            "loads",
            "passed",
        )


class LoadReadSerializer(serializers.Serializer[Any]):
    """What the display of one pad showed with a reference mass on it."""

    pad = serializers.ChoiceField([*FOUR, WHOLE], help_text="'car' for one platform.")
    reference = TypedQuantity(kind=Kind.MASS, limits=bounds.REFERENCE)
    indicated = TypedQuantity(kind=Kind.MASS, limits=bounds.PAD)
    added = TypedQuantity(
        kind=Kind.MASS, limits=bounds.EXTRA, required=False, allow_null=True, default=None
    )


class ScaleCheckCreateSerializer(CreateOnceSerializer):
    """A check of every pad of a set."""

    scale_set = row(ScaleSet)
    loads = serializers.ListField(child=LoadReadSerializer(), max_length=40)
    pads_level = serializers.BooleanField()
    level_note = serializers.CharField(max_length=60, required=False, allow_blank=True, default="")
    device_at = serializers.DateTimeField(required=False, allow_null=True, default=None)


@extend_schema_view(create=creates(ScaleCheckSerializer, ScaleCheckCreateSerializer))
class ScaleChecks(
    ListsOfClubs, PostInClubUnits, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """Checks of the club's scales with reference masses."""

    queryset = ScaleCheck.objects.order_by("-id")
    serializer_class = ScaleCheckSerializer
    create_serializer_class = ScaleCheckCreateSerializer
    filterset_fields = ("scale_set", "club", "passed")
    club_from = "scale_set"

    def make(self, *, row_id: UUID, **given: Any) -> ScaleCheck:
        """Keeps a check."""
        loads = [LoadRead(**one) for one in given.pop("loads")]
        return check_scales(by=asking(self.request), loads=loads, check_id=row_id, **given)

    def club_sent(self, sent_id: UUID) -> Club | None:
        """The club that the scales are of."""
        scale_set = ScaleSet.objects.filter(pk=sent_id).select_related("club").first()
        return scale_set.club if scale_set else None
