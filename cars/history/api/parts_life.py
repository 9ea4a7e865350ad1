"""The API of how long parts have run, and of limits."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.api_base import Listed, perhaps
from cars.history.actions.parts_life import remove_part_limit, set_part_limit, set_part_start
from cars.history.presenters.parts_life import limit_words, whose
from cars.history.queries.parts_life import LimitState, PartLife, limits_of, lives, states
from cars.lookups import part_or_404
from cars.models import Part, PartLimit
from cars.permissions import check_can_see_parts
from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.api.me import asking
from teams.api.base import ListsOwnRows
from teams.models import Club, Team
from teams.queries.reads import note_reader
from teams.queries.roles import Roles


class PartLimitSerializer(serializers.ModelSerializer[PartLimit]):
    """How long a part may run before somebody looks at it."""

    class Meta:
        model = PartLimit
        fields = ("id", "club", "team", "sort", "part", "per", "most", "created_at")
        extra_kwargs = {
            "part": {"help_text": "Of this part alone; null: of every part of the sort."}
        }


class PartLimitCreateSerializer(CreateOnceSerializer):
    """A limit of a team or of a club, in place of what stood for the same."""

    team = perhaps(Team)
    club = perhaps(Club)
    part = perhaps(Part)
    sort = serializers.ChoiceField(Part.Sort.choices)
    per = serializers.ChoiceField(PartLimit.Per.choices)
    most = serializers.DecimalField(max_digits=8, decimal_places=2)


class LimitStateSerializer(serializers.Serializer[Any]):
    """A limit, and what is left of it."""

    id = serializers.UUIDField(source="limit.pk")
    per = serializers.CharField(source="limit.per")
    most = serializers.DecimalField(source="limit.most", max_digits=8, decimal_places=2)
    left = serializers.DecimalField(
        max_digits=12, decimal_places=2, help_text="Below zero where it is passed."
    )
    is_near = serializers.BooleanField(help_text="Four fifths are used, or more.")
    whose = serializers.SerializerMethodField()
    says = serializers.SerializerMethodField(help_text="2 nights left of 8")

    def get_whose(self, state: LimitState) -> str:
        """The club's, or the team's."""
        return whose(state.limit)

    def get_says(self, state: LimitState) -> str:
        """As pages say it."""
        return limit_words(state)


class PartStartSerializer(serializers.Serializer[Any]):
    """What a part came with; null where nobody knows."""

    nights = serializers.IntegerField(required=False, allow_null=True, min_value=0, default=None)
    runs = serializers.IntegerField(required=False, allow_null=True, min_value=0, default=None)
    laps = serializers.IntegerField(required=False, allow_null=True, min_value=0, default=None)
    hours = serializers.DecimalField(
        required=False, allow_null=True, min_value=0, default=None, max_digits=8, decimal_places=2
    )


class CarLifeSerializer(serializers.Serializer[Any]):
    """What it ran on one car."""

    car = serializers.UUIDField()
    runs = serializers.IntegerField()
    laps = serializers.IntegerField()
    nights = serializers.IntegerField()
    hours = serializers.FloatField()
    first = serializers.DateField()
    last = serializers.DateField()


class PartLifeSerializer(serializers.Serializer[PartLife]):
    """How long a part has run, what it came with too."""

    part = serializers.UUIDField(source="part.pk")
    nights = serializers.SerializerMethodField(help_text="Days on which it ran.")
    runs = serializers.SerializerMethodField()
    laps = serializers.SerializerMethodField(help_text="Of the runs that have laps.")
    hours = serializers.SerializerMethodField(help_text="Of the runs that have laps.")
    untimed_runs = serializers.IntegerField(
        source="counted.untimed", help_text="Runs without laps: in neither laps nor hours."
    )
    start = PartStartSerializer(allow_null=True)
    cars = serializers.SerializerMethodField()
    limits = serializers.SerializerMethodField()

    def get_nights(self, life: PartLife) -> int:
        """All of them."""
        return int(life.so_far("nights"))

    def get_runs(self, life: PartLife) -> int:
        """All of them."""
        return int(life.so_far("runs"))

    def get_laps(self, life: PartLife) -> int:
        """At least."""
        return int(life.so_far("laps"))

    def get_hours(self, life: PartLife) -> float:
        """At least."""
        return float(life.so_far("hours"))

    @extend_schema_field(CarLifeSerializer(many=True))
    def get_cars(self, life: PartLife) -> Any:
        """Car by car, since the team notes runs."""
        rows = [
            {
                "car": car,
                "runs": each.runs,
                "laps": each.laps,
                "nights": each.nights,
                "hours": float(each.hours),
                "first": each.first,
                "last": each.last,
            }
            for car, each in life.by_car.items()
        ]
        return CarLifeSerializer(rows, many=True).data

    @extend_schema_field(LimitStateSerializer(many=True))
    def get_limits(self, life: PartLife) -> Any:
        """The one that is used most first."""
        return LimitStateSerializer(states(life, self.context["limits"]), many=True).data


def _life(part: Part) -> Response:
    life = lives([part], part.team)[part.pk]
    return Response(PartLifeSerializer(life, context={"limits": limits_of(part.team)}).data)


class PartLifeView(APIView):
    """How long a part has run."""

    @extend_schema(responses=PartLifeSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """Runs, laps, nights and hours while it was on a car, and its limits."""
        part, by = part_or_404(pk), asking(request)
        check_can_see_parts(by, part.team)
        note_reader(by, part.team_id, part)
        return _life(part)


class PartStartView(APIView):
    """What a part came with."""

    @extend_schema(request=PartStartSerializer, responses=PartLifeSerializer)
    def put(self, request: Request, pk: UUID) -> Response:
        """In place of what was said before; all null takes it away."""
        part, by = part_or_404(pk), asking(request)
        given = PartStartSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        set_part_start(by=by, part=part, **given.validated_data)
        return _life(part)


@extend_schema_view(create=creates(PartLimitSerializer, PartLimitCreateSerializer))
class PartLimits(ListsOwnRows, CreateOnceMixin, Listed):
    """The limits that stand, of one's teams and clubs."""

    queryset = PartLimit.objects.current().order_by("-id")
    serializer_class = PartLimitSerializer
    create_serializer_class = PartLimitCreateSerializer
    filterset_fields = ("team", "club", "sort", "part")

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of the teams they may read, and of their clubs."""
        return rows.of_teams_or_clubs(roles.readable_teams, roles.member_clubs)

    def make(self, *, row_id: UUID, **given: Any) -> PartLimit:
        """Sets it."""
        return set_part_limit(by=self.by, limit_id=row_id, **given)

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """It no longer holds."""
        remove_part_limit(by=self.by, limit=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)
