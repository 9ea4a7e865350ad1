"""The API of plans for school days."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import (
    OpenApiResponse,
    extend_schema,
    extend_schema_field,
    extend_schema_view,
)
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from cars.api_base import Listed, perhaps, words
from cars.history.actions import school_days as actions
from cars.history.presenters.school_days import setting_name
from cars.history.queries.school_days import own_or_shown
from cars.models import Baseline, Car, Outing, SchoolDay, Sheet
from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.api.idempotency import answers_once, by_id, made_once
from teams.api.base import ByPerson, ListsOwnRows
from teams.api.serializers import row
from teams.models import Club, Driver, Track
from teams.queries.reads import note_readers
from teams.queries.roles import Roles


class OutingSerializer(serializers.ModelSerializer[Outing]):
    """A car sent out: who drives it, and what it is set to."""

    setting = serializers.SerializerMethodField(help_text="What it is set to, in words.")

    class Meta:
        model = Outing
        fields = (
            *("id", "order", "car", "team", "driver", "sheet", "baseline", "setting", "note"),
        )

    def get_setting(self, outing: Outing) -> str:
        """As the plan says it."""
        return setting_name(outing)


class SchoolDaySerializer(serializers.ModelSerializer[SchoolDay]):
    """A coach's plan of a day, with the outings that whoever asks may see."""

    outings = serializers.SerializerMethodField(help_text="In the order in which the cars go out.")

    class Meta:
        model = SchoolDay
        fields = ("id", "club", "by", "day", "track", "name", "note", "shown_at", "outings")
        extra_kwargs = {
            "by": {"help_text": "The coach who planned it."},
            "shown_at": {"help_text": "Since when families see their outings; null: not yet."},
        }

    @extend_schema_field(OutingSerializer(many=True))
    def get_outings(self, school_day: SchoolDay) -> list[dict[str, Any]]:
        """In their order."""
        rows = school_day.outings.all()
        return [dict(OutingSerializer(outing).data) for outing in rows]


class SchoolDayCreateSerializer(CreateOnceSerializer):
    """A new plan; each car goes out once, in the order given."""

    club = row(Club)
    day = serializers.DateField()
    name = serializers.CharField(max_length=actions.LONGEST_NAME)
    track = perhaps(Track)
    note = words(actions.LONGEST_DAY_NOTE)
    cars = serializers.PrimaryKeyRelatedField(
        queryset=Car.objects.select_related("team"), many=True, required=False, default=list
    )


class SchoolDayChangeSerializer(serializers.Serializer[Any]):
    """What a day says, whole."""

    day = serializers.DateField()
    name = serializers.CharField(max_length=actions.LONGEST_NAME)
    track = perhaps(Track)
    note = words(actions.LONGEST_DAY_NOTE)


class SendOutSerializer(CreateOnceSerializer):
    """One more outing, after all others."""

    car = row(Car)


class OutingChangeSerializer(serializers.Serializer[Any]):
    """Who drives and what the car is set to, whole: what is left out is taken off."""

    driver = perhaps(Driver)
    sheet = perhaps(Sheet)
    baseline = perhaps(Baseline)
    note = words(actions.LONGEST_NOTE)


class MoveSerializer(serializers.Serializer[Any]):
    """Which way."""

    way = serializers.ChoiceField(["earlier", "later"])


_NAMES = ("outings__sheet__car", "outings__sheet__track", "outings__baseline__chassis")


@extend_schema_view(create=creates(SchoolDaySerializer, SchoolDayCreateSerializer))
class SchoolDays(ListsOwnRows, CreateOnceMixin, Listed):
    """One's own plans as a coach, and those shown in which one's cars go out."""

    queryset = (
        SchoolDay.objects.select_related("club", "track", "by")
        .prefetch_related("outings__car", *_NAMES)
        .order_by("-id")
    )
    serializer_class = SchoolDaySerializer
    create_serializer_class = SchoolDayCreateSerializer

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """The viewer's own plans, and those in which the viewer's cars go out."""
        return rows.filter(own_or_shown(self.by, roles.readable_teams))

    def paginate_queryset(self, queryset: Any) -> Any:
        """The page, and a line for each team whose outings are on it."""
        rows = super().paginate_queryset(queryset)
        note_readers(self.by, (each.team_id for one in rows or [] for each in one.outings.all()))
        return rows

    def get_object(self) -> SchoolDay:
        """The day, and a line for each team whose outings are in it."""
        found: SchoolDay = super().get_object()
        note_readers(self.by, (each.team_id for each in found.outings.all()))
        return found

    def make(self, *, row_id: UUID, **given: Any) -> SchoolDay:
        """Plans it."""
        return actions.plan_school_day(by=self.by, school_day_id=row_id, **given)

    @extend_schema(request=SchoolDayChangeSerializer, responses=SchoolDaySerializer)
    def update(self, request: Request, **_: Any) -> Response:
        """Another day, track, name or word to all."""
        school_day = self.get_object()
        given = SchoolDayChangeSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        actions.change_school_day(by=self.by, school_day=school_day, **given.validated_data)
        return self._now(school_day)

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """Takes the whole plan away; no sheet, driver or car goes with it."""
        actions.remove_school_day(by=self.by, school_day=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)

    @extend_schema(request=SendOutSerializer, responses=answers_once(OutingSerializer))
    @action(detail=True, methods=["post"])
    def outings(self, request: Request, **_: Any) -> Response:
        """Sends a car out once more, as it was set last."""
        school_day = self.get_object()
        given = SendOutSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        content = dict(given.validated_data)

        def make(chosen: UUID) -> Outing:
            return actions.send_out(
                by=self.by, school_day=school_day, outing_id=chosen, car=content["car"]
            )

        made, code = made_once(request, content.pop("id", None), make, by_id(Outing))
        return Response(OutingSerializer(made).data, code)

    @extend_schema(
        request=None,
        responses={
            200: SchoolDaySerializer,
            409: OpenApiResponse(description="They see it already, or no car goes out."),
        },
    )
    @action(detail=True, methods=["post"])
    def show(self, *_: Any, **__: Any) -> Response:
        """Shows each family its own outings from now on."""
        school_day = self.get_object()
        actions.show_school_day(by=self.by, school_day=school_day)
        return self._now(school_day)

    @extend_schema(
        request=None,
        responses={
            200: SchoolDaySerializer,
            409: OpenApiResponse(description="No family sees it."),
        },
    )
    @action(detail=True, methods=["post"])
    def hide(self, *_: Any, **__: Any) -> Response:
        """No family sees it until it is shown again."""
        school_day = self.get_object()
        actions.hide_school_day(by=self.by, school_day=school_day)
        return self._now(school_day)

    def _now(self, school_day: SchoolDay) -> Response:
        return Response(self.answer(self.get_queryset().get(pk=school_day.pk)))


class Outings(ByPerson, GenericViewSet[Outing]):
    """One outing of a plan, changed by its coach."""

    queryset = Outing.objects.select_related(
        *("school_day__club", "car__chassis", "team", "driver", "sheet__car", "sheet__track"),
        "baseline__chassis",
    )
    serializer_class = OutingSerializer

    @extend_schema(request=OutingChangeSerializer, responses=OutingSerializer)
    def update(self, request: Request, **_: Any) -> Response:
        """Another driver, sheet or baseline, or a word to who sets the car."""
        outing = self.get_object()
        given = OutingChangeSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        actions.change_outing(by=self.by, outing=outing, **given.validated_data)
        return Response(OutingSerializer(outing).data)

    @extend_schema(
        request=MoveSerializer,
        responses={
            200: OutingSerializer,
            409: OpenApiResponse(description="It goes out first, or last, already."),
        },
    )
    @action(detail=True, methods=["post"])
    def move(self, request: Request, **_: Any) -> Response:
        """One place earlier or later."""
        given = MoveSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        earlier = given.validated_data["way"] == "earlier"
        moved = actions.move_outing(by=self.by, outing=self.get_object(), earlier=earlier)
        return Response(OutingSerializer(moved).data)

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """The car does not go out this time; those after it move up."""
        actions.remove_outing(by=self.by, outing=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)
