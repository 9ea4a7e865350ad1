"""Advice and the coach's board as JSON."""

from collections.abc import Sequence
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api_base import SPOTS_HELP, QuantitySerializer, perhaps, quantity_json
from cars.history.actions.advice import LONGEST_ADVICE
from cars.history.queries.board import Board, BoardRow
from cars.models import Advice, AdviceReply, Car, Measure, Spot
from clubsetup.access.api.creating import CreateOnceSerializer
from teams.api.serializers import row


class AdviceReplySerializer(serializers.ModelSerializer[AdviceReply]):
    """A word on advice."""

    class Meta:
        model = AdviceReply
        fields = ("id", "by", "of_coach", "text", "created_at")


class AdviceSerializer(serializers.ModelSerializer[Advice]):
    """What a coach advised, with all that was said to it."""

    wanted = serializers.SerializerMethodField(help_text="The figure the coach would like.")
    replies = AdviceReplySerializer(many=True)

    class Meta:
        model = Advice
        fields = (
            *("id", "car", "team", "by", "measure", "spot", "wanted", "text", "created_at"),
            *("done_at", "done_by", "replies"),
        )
        extra_kwargs = {
            "spot": {"help_text": f"{SPOTS_HELP} Empty of the whole car."},
            "done_at": {"help_text": "When it was ticked off."},
        }

    @extend_schema_field(QuantitySerializer(allow_null=True))
    def get_wanted(self, advice: Advice) -> dict[str, str] | None:
        """None where it names no figure."""
        kind = advice.measure.kind if advice.measure else ""
        return quantity_json(advice.wanted, kind, advice.wanted_typed)


class AdviceCreateSerializer(CreateOnceSerializer):
    """What a coach would look at or change."""

    car = row(Car)
    text = serializers.CharField(max_length=LONGEST_ADVICE)
    measure = perhaps(Measure)
    spot = serializers.ChoiceField(
        Spot.choices, required=False, allow_blank=True, default="", help_text=SPOTS_HELP
    )
    wanted = serializers.CharField(
        max_length=40,
        required=False,
        allow_blank=True,
        default="",
        help_text="As people say it: 2 1/4, 11 psi.",
    )


class ReplyCreateSerializer(CreateOnceSerializer):
    """A word on it."""

    text = serializers.CharField(max_length=LONGEST_ADVICE)


class BoardCarSerializer(serializers.Serializer[Any]):
    """A car with its newest closed sheet as set."""

    id = serializers.UUIDField(source="car.pk")
    number = serializers.CharField(source="car.number")
    name = serializers.CharField(source="car.name")
    team = serializers.UUIDField(source="car.team_id")
    sheet = serializers.UUIDField(source="sheet.pk", allow_null=True, default=None)
    made_on = serializers.DateField(source="sheet.made_on", allow_null=True, default=None)
    is_old = serializers.BooleanField(help_text="Too old to count.")


class BoardFigureSerializer(serializers.Serializer[Any]):
    """What a car has in a box."""

    car = serializers.UUIDField()
    quantity = QuantitySerializer()
    score = serializers.FloatField(
        allow_null=True, help_text="How far from the middle, in spreads; null where none counts."
    )
    is_odd = serializers.BooleanField()


class BoardRowSerializer(serializers.Serializer[Any]):
    """One box of all cars."""

    measure = serializers.CharField(source="measure.pk")
    spot = serializers.CharField(source="key.spot")
    middle = serializers.FloatField(
        source="field.middle", default=None, allow_null=True, help_text="Canonical; from four cars."
    )
    spread = serializers.FloatField(source="field.spread", default=None, allow_null=True)
    odd_from = serializers.FloatField(
        source="field.odd_from", default=None, allow_null=True, help_text="The least odd score."
    )
    figures = serializers.SerializerMethodField()

    @extend_schema_field(BoardFigureSerializer(many=True))
    def get_figures(self, row: BoardRow) -> Sequence[dict[str, Any]]:
        """Those that count first."""
        scores = row.field.scores if row.field else (None,) * len(row.cars)
        least = row.field.odd_from if row.field else 0.0
        counted = list(zip(row.cars, scores, strict=True))
        return [
            {
                "car": one.car.pk,
                "quantity": quantity_json(one.figures[row.key].value, row.measure.kind, ""),
                "score": score,
                "is_odd": score is not None and abs(score) >= least,
            }
            for one, score in [*counted, *((one, None) for one in row.old)]
        ]


class BoardSerializer(serializers.Serializer[Board]):
    """The cars of a chassis that the person asking coaches."""

    chassis = serializers.UUIDField(source="chassis.pk")
    surface = serializers.CharField()
    since = serializers.DateField(help_text="Sheets before this day are old.")
    cars = BoardCarSerializer(many=True)
    rows = BoardRowSerializer(many=True)
