"""Boxes of a bench as JSON: how they stand, what is sent for them, and what came of it."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api_base import SPOTS_HELP, QuantitySerializer, quantity_json
from cars.bench.presenters.bench_view import BenchBox, Take
from cars.sheets.actions.save_boxes import LONGEST_WAIT, MOST
from cars.sheets.api.serializers import ReadingSerializer
from clubsetup.access.api.idempotency import OWN_ID

KEPT_AS = [(status, status) for status in ("saved", "wrong", "conflict", "refused")]
SEEN_HELP = "The id of the reading that you saw in the box; null where you saw it empty."


class RetakeSerializer(serializers.Serializer[Any]):
    """Why a box must be read again."""

    change = serializers.UUIDField(source="change.pk")
    text = serializers.CharField(help_text="spring seat LF +1/2 turn, in the person's units")
    made_at = serializers.DateTimeField(source="change.made_at")


class CarriedSerializer(serializers.Serializer[Any]):
    """The reading that a carried figure is a copy of."""

    reading = serializers.UUIDField()
    by = serializers.CharField(help_text="Who read it.")
    taken_at = serializers.DateTimeField()


class TakeSerializer(serializers.Serializer[Any]):
    """A box as it was read the first, second or third time."""

    take = serializers.IntegerField(source="key.take")
    seen = serializers.SerializerMethodField(
        help_text="The id of the reading that stands there: send it with what replaces it."
    )
    typed = serializers.CharField(
        source="text", help_text="As it means the same to the person asking."
    )
    by = serializers.CharField(help_text="Who took it, where that is somebody else.")

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_seen(self, take: Take) -> str | None:
        """None for an empty box."""
        return str(take.reading.pk) if take.reading else None


class BoxNowSerializer(serializers.Serializer[Any]):
    """A box as it stands now, and what its figure is to its target."""

    box = serializers.CharField(source="box.name", help_text="As in ride-height.LF.")
    spot = serializers.CharField(source="box.key.spot", help_text=SPOTS_HELP)
    shown = serializers.CharField(source="box.shown", help_text="In the person's units.")
    reach = serializers.DecimalField(
        20,
        10,
        source="box.reach",
        allow_null=True,
        help_text="How far off the figure may be: half a step as read, 95 % as computed.",
    )
    outcome = serializers.CharField(
        source="box.judgement.outcome",
        help_text="on target, off, too close to tell, not taken, no target, retake.",
    )
    off_by = serializers.SerializerMethodField(
        help_text="Figure minus target, canonical; null without either."
    )
    text = serializers.CharField(source="box.words", help_text="off by 1/16 in, high")
    retake = RetakeSerializer(
        source="box.cause", allow_null=True, help_text="The first change that asks for it again."
    )
    causes = RetakeSerializer(
        source="box.causes", many=True, help_text="Every change that asks for it again."
    )
    carried = serializers.SerializerMethodField(
        help_text="Where the figure stood on the sheet before, and was not read for this one."
    )
    computed_from_carried = serializers.BooleanField(source="box.from_carried")
    repeats = serializers.CharField(help_text="Mean and spread where it was read more than once.")
    back = serializers.CharField(help_text="What undo brings back; empty where nothing does.")
    takes = TakeSerializer(many=True)

    @extend_schema_field(CarriedSerializer(allow_null=True))
    def get_carried(self, each: BenchBox) -> dict[str, Any] | None:
        """Null for a figure that was read, and for none."""
        row = each.box.carried
        if row is None:
            return None
        return {"reading": row.carried_from_id, "by": each.carried_by, "taken_at": row.taken_at}

    @extend_schema_field(serializers.DecimalField(20, 10, allow_null=True))
    def get_off_by(self, each: BenchBox) -> str | None:
        """An exact decimal."""
        box = each.box
        if box.standard is None or not box.is_taken:
            return None
        return f"{box.judgement.miss.normalize() + 0:f}"


class BenchBoxSerializer(BoxNowSerializer):
    """A box of a step with its target and what it said before."""

    target = serializers.SerializerMethodField()
    tolerance = serializers.SerializerMethodField(help_text="How far off is still on target.")
    source = serializers.CharField(  # type: ignore[assignment]
        source="box.source", help_text="maker or club; empty for a sheet's or one's own figure."
    )
    own = serializers.CharField(
        source="box.own", help_text="The team's own target, where it is judged by something else."
    )
    last_found = serializers.CharField(help_text="As the car was found last time.")
    last_set = serializers.CharField(help_text="As it was set last time.")

    @extend_schema_field(QuantitySerializer(allow_null=True))
    def get_target(self, each: BenchBox) -> dict[str, str] | None:
        """Canonical, and as the person asking reads it."""
        box = each.box
        return (
            quantity_json(box.standard.target, box.measure.kind, box.target)
            if box.standard
            else None
        )

    @extend_schema_field(QuantitySerializer(allow_null=True))
    def get_tolerance(self, each: BenchBox) -> dict[str, str] | None:
        """Canonical, and as the person asking reads it."""
        box = each.box
        return (
            quantity_json(box.standard.tolerance, box.measure.kind, box.tolerance)
            if box.standard
            else None
        )


class BoxWriteSerializer(serializers.Serializer[Any]):
    """One reading for one box, in place of the one that was seen there."""

    id = serializers.UUIDField(required=False, help_text=OWN_ID)
    typed = serializers.CharField(
        max_length=200,
        allow_blank=True,
        help_text="As people say it: 46 5/16, 11 psi, done. Empty: the box is emptied.",
    )
    seen = serializers.UUIDField(allow_null=True, help_text=SEEN_HELP)
    age = serializers.IntegerField(
        min_value=0,
        max_value=int(LONGEST_WAIT.total_seconds()),
        default=0,
        help_text="Seconds since it was read: a device's clock may be wrong, its pace is not.",
    )
    again = serializers.BooleanField(
        default=False, help_text="It was read again: a new reading even if it says the same."
    )


class SentBoxSerializer(BoxWriteSerializer):
    """One reading that waited on the device, with its box."""

    box = serializers.CharField(max_length=60, help_text="As in ride-height.LF, ride-height.LF.2.")


class SentBoxesSerializer(serializers.Serializer[Any]):
    """What waited on the device, oldest first."""

    boxes = serializers.ListField(child=SentBoxSerializer(), min_length=1, max_length=MOST)


class BoxSavedSerializer(serializers.Serializer[Any]):
    """What stands in the box now, and what that did to its step."""

    reading = ReadingSerializer(allow_null=True)
    before = serializers.CharField(help_text="The bench's version just before.")
    version = serializers.CharField(help_text="The bench's version now.")
    boxes = BoxNowSerializer(many=True, help_text="Every box of the step.")


class BoxKeptSerializer(serializers.Serializer[Any]):
    """What came of one box that was sent."""

    box = serializers.CharField()
    status = serializers.ChoiceField(
        KEPT_AS,
        help_text="wrong: the text cannot be read. conflict: somebody else wrote there. "
        "refused: not now, as on a closed sheet.",
    )
    seen = serializers.UUIDField(allow_null=True, help_text="What stands in the box now.")
    stands = serializers.CharField(help_text="As it was typed; empty for an empty box.")
    problem = serializers.DictField(
        allow_null=True, help_text="As a problem document where it is not saved."
    )


class BoxResultsSerializer(serializers.Serializer[Any]):
    """What came of each, in the order they were sent."""

    before = serializers.CharField(help_text="The bench's version just before.")
    version = serializers.CharField(help_text="The bench's version now.")
    results = BoxKeptSerializer(many=True)


class BoxSeenSerializer(serializers.Serializer[Any]):
    """What was seen in the box."""

    id = serializers.UUIDField(required=False, help_text=OWN_ID)
    seen = serializers.UUIDField(allow_null=True, help_text=SEEN_HELP)


class BoxSameSerializer(serializers.Serializer[Any]):
    """The reading that was read again and says the same."""

    id = serializers.UUIDField(required=False, help_text=OWN_ID)
    seen = serializers.UUIDField(help_text="The id of the reading that you saw in the box.")
