"""Runs, how they felt and their laps as JSON."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api_base import perhaps, words
from cars.mechanics.laps import LONGEST_LAP, MOST_LAPS
from cars.models import Car, Feel, Laps, Run, RunDetails, Spot, Weather
from cars.runs.actions.runs import LONGEST_REASON, MOST_FINISH
from cars.sheets.api.seen import SeenReadingField
from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from teams.api.serializers import row
from teams.models import Driver, Surface, Track

# Named here so that the schema can name them.
RUN_KINDS = RunDetails.Kind.choices
SURFACE_STATES = RunDetails.SurfaceState.choices
BALANCES = Feel.Balance.choices
LAP_MARKS = [("", "It counts"), *Laps.Mark.choices]
NOT_SAID = "Empty: not said."
MILLISECOND = Decimal("0.001")


def seen_field(what: str) -> Any:
    """The id of the row that the writer saw."""
    return SeenReadingField(
        allow_null=True,
        help_text=f"The id of the {what} that you saw, null where you saw none: refused where "
        "others stand by now. `anything`: written over whatever stands.",
    )


def maybe_one_of(choices: Any, help_text: str = NOT_SAID) -> Any:
    """One of these, or empty."""
    return serializers.ChoiceField(
        choices, required=False, allow_blank=True, default="", help_text=help_text
    )


class RunDetailsSerializer(serializers.ModelSerializer[RunDetails]):
    """Where, who and how; a correction is other details in place of these."""

    fuel = TypedQuantity(kind=Kind.VOLUME, typed_from="fuel_typed", read_only=True, allow_null=True)

    class Meta:
        model = RunDetails
        fields = (
            *("id", "kind", "driver", "track", "weather", "surface", "surface_state", "finish"),
            *("fuel", "damage", "damage_spots", "note", "by", "created_at"),
        )


class FeelSerializer(serializers.ModelSerializer[Feel]):
    """What the driver said of a run, or what the handler saw."""

    class Meta:
        model = Feel
        fields = (
            *("id", "said_by", "entry", "middle", "exit", "hands", "steering"),
            *("by", "created_at"),
        )


class StateChangeSerializer(serializers.Serializer[Any]):
    """A change at the track that stood when the car went out."""

    id = serializers.UUIDField()
    adjuster = serializers.CharField()
    spot = serializers.CharField()
    amount = serializers.CharField()
    unit = serializers.CharField()


class CarStateSerializer(serializers.Serializer[Any]):
    """The car as it stood when it went out; nothing later moves it. Empty without a sheet."""

    changes = StateChangeSerializer(many=True, required=False)
    figures = serializers.DictField(
        child=serializers.FloatField(),
        required=False,
        help_text="As read or expected, canonical, by box: ride-height.LF, cross.car.",
    )


class RunEntrySerializer(serializers.Serializer[Any]):
    """The entry in an event that the run belongs to."""

    id = serializers.UUIDField(source="entry")
    text = serializers.CharField(help_text="June Meeting, number 27")


class RunSerializer(serializers.ModelSerializer[Run]):
    """A run and what stands of it."""

    car_state = CarStateSerializer(read_only=True)
    details = serializers.SerializerMethodField()
    feels = FeelSerializer(source="standing_feels", many=True, read_only=True)
    laps = serializers.SerializerMethodField(help_text="The id of the laps that stand.")
    entry = RunEntrySerializer(source="entered_for", read_only=True, allow_null=True)

    class Meta:
        model = Run
        fields = (
            *("id", "car", "team", "ran_at", "sheet", "car_state", "details", "feels", "laps"),
            *("entry", "by", "created_at", "struck_at", "struck_by", "struck_reason"),
        )

    @extend_schema_field(RunDetailsSerializer)
    def get_details(self, run: Any) -> Any:
        """Those that stand."""
        return RunDetailsSerializer(run.standing_details[0]).data

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_laps(self, run: Any) -> str | None:
        """None where no laps were noted."""
        return str(run.standing_laps[0].pk) if run.standing_laps else None


class RunFactsSerializer(serializers.Serializer[Any]):
    """Where, who and how of a run; what is left out is not known."""

    kind = serializers.ChoiceField(RUN_KINDS, default=RunDetails.Kind.PRACTICE)
    driver = perhaps(Driver)
    track = perhaps(Track)
    weather = perhaps(Weather)
    surface = maybe_one_of(Surface.choices, "Empty: the track's, or the sheet's.")
    surface_state = maybe_one_of(SURFACE_STATES, "Empty: not noted.")
    finish = serializers.IntegerField(
        min_value=1,
        max_value=MOST_FINISH,
        required=False,
        allow_null=True,
        default=None,
        help_text="The position it finished in; of a heat or main alone.",
    )
    fuel = TypedQuantity(
        kind=Kind.VOLUME, limits=bounds.FUEL, required=False, allow_null=True, default=None
    )
    damage = words(LONGEST_REASON)
    damage_spots = serializers.ListField(
        child=serializers.ChoiceField(Spot.choices, help_text="Any but car."),
        required=False,
        default=list,
        max_length=8,
    )
    note = words()


class FeelSaidSerializer(serializers.Serializer[Any]):
    """How it felt, from the entry of a corner to its exit."""

    entry = maybe_one_of(BALANCES)
    middle = maybe_one_of(BALANCES)
    exit = maybe_one_of(BALANCES)
    hands = maybe_one_of(Feel.Hands.choices, "In the middle of the corner. Empty: not said.")
    steering = maybe_one_of(Feel.Steering.choices)


class TimedLapsSerializer(serializers.Serializer[Any]):
    """Laps in their order."""

    times = serializers.ListField(
        child=serializers.DecimalField(
            7, 3, min_value=MILLISECOND, max_value=Decimal(LONGEST_LAP) - MILLISECOND
        ),
        max_length=MOST_LAPS,
        help_text='Seconds, as in "7.412".',
    )
    marks = serializers.ListField(
        child=serializers.ChoiceField(LAP_MARKS, allow_blank=True),
        required=False,
        default=list,
        help_text="Why a lap does not count, lap by lap; empty where it does. Left out: all count.",
    )
    timed_by = serializers.ChoiceField(Laps.TimedBy.choices)
    typed = serializers.CharField(
        max_length=10_000,
        required=False,
        allow_blank=True,
        default="",
        help_text="As they were pasted or typed.",
    )

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """Each lap has its mark."""
        given["marks"] = given["marks"] or [""] * len(given["times"])
        if len(given["marks"]) != len(given["times"]):
            raise serializers.ValidationError({"marks": "Each lap has its mark, or none has."})
        return given


class LapsOfRunSerializer(TimedLapsSerializer):
    """Laps of a new run: one at least."""

    def validate_times(self, times: list[Decimal]) -> list[Decimal]:
        """A run without laps is sent without."""
        if not times:
            raise serializers.ValidationError("Leave the laps out where none was timed.")
        return times


class RunCreateSerializer(CreateOnceSerializer, RunFactsSerializer):
    """The car went out. What the car was like then is kept with it."""

    car = row(Car)
    ran_at = serializers.DateTimeField(
        required=False, allow_null=True, default=None, help_text="If not now."
    )
    driver_said = FeelSaidSerializer(required=False, allow_null=True, default=None)
    handler_saw = FeelSaidSerializer(required=False, allow_null=True, default=None)
    laps = LapsOfRunSerializer(required=False, allow_null=True, default=None)


class RunCorrectSerializer(RunFactsSerializer):
    """All facts of a run as they are to stand."""

    seen = seen_field("details")
    ran_at = serializers.DateTimeField(
        required=False, allow_null=True, default=None, help_text="Where that was wrong too."
    )


class FeelNoteSerializer(FeelSaidSerializer):
    """How it felt, in place of what stood. Nothing said takes it back."""

    said_by = serializers.ChoiceField(Feel.SaidBy.choices)
    seen = seen_field("feel")


class LapsNoteSerializer(TimedLapsSerializer):
    """Laps in place of those that stood. No times take them away."""

    seen = seen_field("laps")


class LapsSerializer(serializers.ModelSerializer[Laps]):
    """The laps of a run."""

    class Meta:
        model = Laps
        fields = ("id", "run", "times", "marks", "timed_by", "typed", "by", "created_at")


class StandingLapsSerializer(serializers.Serializer[Any]):
    """The laps that stand."""

    laps = LapsSerializer(allow_null=True, help_text="Null where none were noted.")


class StrikeSerializer(serializers.Serializer[Any]):
    """Why a run counts for nothing."""

    reason = serializers.CharField(max_length=LONGEST_REASON)
