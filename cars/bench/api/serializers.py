"""A bench as JSON: what its targets may be, how far it has come, and one step of it.

Figures are canonical (mm, kg, degrees, kPa, N/mm, percent) beside the text that the person asking
reads in their own units.
"""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api_base import perhaps, words
from cars.baselines.api.own_target_serializers import OwnTargetLineSerializer
from cars.bench.api.box_serializers import BenchBoxSerializer
from cars.bench.presenters.bench_view import BenchRow
from cars.catalogue.api import StepSerializer
from cars.models import Baseline, Sheet
from cars.sheets.api.part_serializers import FittedPlaceSerializer
from cars.sheets.presenters.target_sources import choice_name, source_name
from cars.sheets.queries.targets import TargetSource
from clubsetup.access.api.idempotency import OWN_ID
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from teams.models import Driver, Surface, Track

STARTED_AS = [(role.value, role.label) for role in (Sheet.Role.FOUND, Sheet.Role.SET)]
KINDS = [(kind, kind) for kind in ("sheet", "own", "baseline", "nothing")]


class TargetSourceChoiceSerializer(serializers.Serializer[Any]):
    """One source that the targets of a bench may come from: send what it says to start one."""

    name = serializers.SerializerMethodField(help_text="As people read it.")
    baseline = serializers.UUIDField(source="baseline.pk", default=None, allow_null=True)
    target = serializers.UUIDField(
        source="sheet.pk", default=None, allow_null=True, help_text="An earlier sheet of the car."
    )
    own = serializers.BooleanField(help_text="The team's own targets, over the baseline in force.")
    track = serializers.UUIDField(
        source="sheet.track_id",
        default=None,
        allow_null=True,
        help_text="Where the car was set so: send it too where the car runs there again.",
    )
    surface = serializers.SerializerMethodField(help_text="Of the baseline or the sheet.")

    def get_name(self, choice: TargetSource) -> str:
        """As one of several."""
        return choice_name(choice)

    @extend_schema_field(serializers.CharField())
    def get_surface(self, choice: Any) -> str:
        """Empty where it is left to the track."""
        of = choice.baseline or choice.sheet
        return str(of.surface) if of else ""


class BenchStartSerializer(serializers.Serializer[Any]):
    """A new bench: an open sheet, and where its targets come from. Choose at most one of
    `target` and `own`; without either they are the baseline's.
    """

    id = serializers.UUIDField(required=False, help_text=OWN_ID)
    role = serializers.ChoiceField(
        STARTED_AS, help_text="found: before anything is touched. set: when it is done."
    )
    made_on = serializers.DateField(
        required=False, allow_null=True, default=None, help_text="Today where left out."
    )
    baseline = perhaps(Baseline)
    target = perhaps(Sheet)
    own = serializers.BooleanField(default=False)
    track = perhaps(Track)
    surface = serializers.ChoiceField(
        Surface.choices,
        required=False,
        allow_blank=True,
        default="",
        help_text="Or the track's, the target's, the baseline's.",
    )
    driver = perhaps(Driver)
    fuel = TypedQuantity(
        kind=Kind.VOLUME, limits=bounds.FUEL, required=False, allow_null=True, default=None
    )
    note = words()


class FollowSerializer(serializers.Serializer[Any]):
    """The set sheet to open."""

    id = serializers.UUIDField(required=False, help_text=OWN_ID)


class TargetSourceSerializer(serializers.Serializer[Any]):
    """Where the targets of a sheet come from."""

    kind = serializers.ChoiceField(KINDS)
    name = serializers.SerializerMethodField()
    target = serializers.UUIDField(source="sheet.pk", default=None, allow_null=True)

    def get_name(self, source: TargetSource) -> str:
        """As people read it."""
        return source_name(source)


class StepTallySerializer(serializers.Serializer[Any]):
    """How far one step has come."""

    step = serializers.CharField(source="step.pk")
    order = serializers.IntegerField(source="step.order")
    name = serializers.CharField(source="step.name")
    taken = serializers.IntegerField(help_text="Boxes that were read for this sheet.")
    carried = serializers.IntegerField(
        help_text="Boxes whose figure was carried from the sheet before, and not read."
    )
    of = serializers.IntegerField(help_text="Boxes there are.")
    off = serializers.IntegerField(help_text="Figures off their target, computed ones too.")
    retakes = serializers.IntegerField(help_text="Boxes to be read again.")


class EveningSerializer(serializers.Serializer[Any]):
    """A whole bench: how far it has come and what may be done next."""

    sheet = serializers.UUIDField(source="sheet.pk")
    state = serializers.CharField(source="sheet.state")
    version = serializers.CharField(help_text="Another one whenever anything on the sheet is.")
    target_source = TargetSourceSerializer()
    steps = StepTallySerializer(many=True, source="view.steps")
    taken = serializers.IntegerField(source="view.taken")
    carried = serializers.IntegerField(source="view.carried")
    of = serializers.IntegerField(source="view.of")
    off = serializers.IntegerField(source="view.off")
    retakes = serializers.IntegerField(source="view.retakes")
    go_on = serializers.CharField(
        source="go_on.pk", help_text="The first step with something to take; nothing blocks."
    )
    may_write = serializers.BooleanField(help_text="The person asking may, while it is open.")
    may_close = serializers.BooleanField()
    may_follow = serializers.BooleanField()
    set_sheet = serializers.UUIDField(
        source="set_sheet.pk",
        default=None,
        allow_null=True,
        help_text="The sheet as set after it.",
    )
    newer = serializers.UUIDField(
        source="newer.pk", default=None, allow_null=True, help_text="The version that corrects it."
    )


class BenchMeasureSerializer(serializers.Serializer[Any]):
    """Something to measure in a step, where and how, with its boxes."""

    measure = serializers.CharField(source="row.measure.pk")
    name = serializers.CharField(source="row.measure.name")
    letter = serializers.CharField(help_text="Its letter on the step's drawing.")
    taken = serializers.CharField(
        source="row.measure.taken", help_text="quantity, words, done, or derived: computed."
    )
    kind = serializers.CharField(source="row.measure.kind", help_text="Empty for words and checks.")
    unit = serializers.SerializerMethodField(help_text="Of a bare number from the person asking.")
    where = serializers.CharField(source="row.measure.where", help_text="Where and how to measure.")
    layout = serializers.CharField(help_text="How its boxes lie: corners, sides, ends, one.")
    repeatable = serializers.BooleanField(source="is_repeatable", help_text="May be read thrice.")
    boxes = BenchBoxSerializer(many=True)

    @extend_schema_field(serializers.CharField())
    def get_unit(self, row: BenchRow) -> str:
        """Without the space before it."""
        return row.row.unit.strip()


class PastSerializer(serializers.Serializer[Any]):
    """Where the figures found and set last time come from."""

    text = serializers.CharField(help_text="last time: found 11, set 13 Nov 2026, Quarry Lane")
    other_surface = serializers.CharField(help_text="Where that was another surface than this.")


class AdjusterSerializer(serializers.Serializer[Any]):
    """Something that is turned, moved or swapped in a step: what a change names."""

    adjuster = serializers.CharField(source="slug")
    name = serializers.CharField()


class BenchStepSerializer(serializers.Serializer[Any]):
    """A bench at a step."""

    sheet = serializers.UUIDField(source="bench.sheet.pk")
    state = serializers.CharField(source="bench.sheet.state")
    version = serializers.CharField(
        source="bench.version", help_text="Send it to be told only of what is new."
    )
    editable = serializers.BooleanField(help_text="The person asking may take readings now.")
    target_source = TargetSourceSerializer()
    step = StepSerializer(source="bench.here.step", help_text="Its caution, and why it comes here.")
    previous = serializers.CharField(source="bench.previous.pk", default=None, allow_null=True)
    next = serializers.CharField(source="bench.next.pk", default=None, allow_null=True)
    tally = StepTallySerializer(source="bench.here")
    measures = BenchMeasureSerializer(many=True, source="bench.rows")
    past = PastSerializer(many=True, source="bench.past")
    adjusters = AdjusterSerializer(many=True)
    own_targets = OwnTargetLineSerializer(many=True)
    parts = FittedPlaceSerializer(
        many=True,
        source="fitted",
        help_text="On the corners; empty for who may not see the team's codes.",
    )


class TrailLineSerializer(serializers.Serializer[Any]):
    """One thing that happened to a sheet."""

    at = serializers.DateTimeField()
    by = serializers.CharField()
    what = serializers.CharField()
    old = serializers.BooleanField(help_text="A reading that another has replaced.")
    read_by = serializers.CharField(help_text="Who had read a figure that was carried over.")
    read_at = serializers.DateTimeField(allow_null=True)
