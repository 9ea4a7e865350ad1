"""Handovers as JSON."""

from typing import Any

from rest_framework import serializers

from cars.api_base import perhaps, words
from cars.models import Car, Chassis, Handover
from clubsetup.access.api.creating import CreateOnceSerializer
from teams.api.serializers import row
from teams.models import RaceClass, Team


class HandoverSerializer(serializers.ModelSerializer[Handover]):
    """A car offered, and what came of it."""

    state = serializers.ChoiceField(
        ["offered", "expired", "withdrawn", "taken", "taken-back"], read_only=True
    )

    class Meta:
        model = Handover
        fields = (
            *("id", "car", "team", "by", "history", "ticked", "package", "created_at"),
            *("expires_at", "withdrawn_at", "taken_at", "to_name", "taken_back_at", "state"),
        )
        extra_kwargs = {"package": {"help_text": "All that the receiver sees, and nothing else."}}


class HandoverMadeSerializer(HandoverSerializer):
    """With the code, this once."""

    code = serializers.CharField(help_text="Told once: whoever has it can take the car.")

    class Meta(HandoverSerializer.Meta):
        fields = (*HandoverSerializer.Meta.fields, "code")  # type: ignore[assignment]


class HandoverCreateSerializer(CreateOnceSerializer):
    """A car to be offered."""

    car = row(Car)
    history = serializers.ChoiceField(Handover.History.choices)
    season = serializers.IntegerField(
        required=False,
        allow_null=True,
        default=None,
        min_value=1900,
        max_value=9000,
        help_text="In a preview: whose runs are shown to be chosen from. Those that are ticked go.",
    )
    ticked = serializers.ListField(
        child=serializers.CharField(max_length=60), required=False, default=list, max_length=2000
    )


class CodeSerializer(serializers.Serializer[Any]):
    """The code that the giver was told."""

    code = serializers.CharField(max_length=60)


class OfferSerializer(serializers.Serializer[Any]):
    """What a code offers."""

    id = serializers.UUIDField(source="pk")
    package = serializers.JSONField()
    expires_at = serializers.DateTimeField()


class TakeSerializer(CodeSerializer):
    """What the car is with the team that takes it."""

    team = row(Team)
    number = serializers.CharField(max_length=6)
    name = words(40)
    chassis = perhaps(Chassis)
    chassis_name = words(60)
    race_class = perhaps(RaceClass)


class TickSerializer(serializers.Serializer[Any]):
    """Something that goes along only when it is ticked."""

    id = serializers.CharField(source="pk")
    sheet = serializers.UUIDField(allow_null=True)
    run = serializers.UUIDField(allow_null=True)
    of = serializers.CharField(help_text="The car, sheet or run that it is of, by name.")
    sort = serializers.CharField()
    says = serializers.CharField()
    within = serializers.FloatField(
        allow_null=True, help_text="kg: how closely this tells the driver's weight, where it does."
    )


class PreviewSerializer(serializers.Serializer[Any]):
    """What would go along."""

    ticks = TickSerializer(many=True)
    package = serializers.JSONField()
