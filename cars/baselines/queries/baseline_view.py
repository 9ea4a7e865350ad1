"""A baseline as people read it: its targets in the order of work."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Count, QuerySet

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, catalogue
from cars.figures.formatting import format_figure
from cars.models import Baseline, BaselineValue, Chassis, Measure, Step
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.texts import same_text
from clubsetup.quantities.units import Units


@dataclass(slots=True)
class TargetLine:
    """One target in the reader's units."""

    value: BaselineValue
    measure: Measure
    target: str
    tolerance: str

    @property
    def key(self) -> Key:
        return Key(self.measure.pk, self.value.spot)


@dataclass(slots=True)
class MeasureTargets:
    """The targets of one measure that share tolerance, place and source, a spot each."""

    lines: list[TargetLine]

    @property
    def first(self) -> TargetLine:
        """What they share stands in each of them."""
        return self.lines[0]


@dataclass(slots=True)
class StepTargets:
    step: Step
    lines: list[TargetLine]

    @property
    def measures(self) -> list[MeasureTargets]:
        """The same by measure."""
        return [MeasureTargets(list(same)) for _, same in groupby(self.lines, key=_shared)]


def _shared(line: TargetLine) -> tuple[object, ...]:
    row = line.value
    return (line.measure.pk, line.tolerance, row.where, row.source, row.source_note)


@dataclass(slots=True)
class BaselineView:
    """A baseline with its targets by step, and the catalogue behind it."""

    baseline: Baseline
    steps: list[StepTargets]
    catalogue: Catalogue

    @property
    def count(self) -> int:
        """How many targets it has."""
        return sum(len(step.lines) for step in self.steps)


def baseline_view(baseline: Baseline, viewer: User) -> BaselineView:
    """The baseline in the viewer's units, in three queries."""
    known, units = catalogue(), viewer.units(baseline.club.units())
    rows = {Key(v.measure_id, v.spot): v for v in baseline.values.all()}
    steps = []
    for step in known.steps:
        lines = [
            TargetLine(
                row,
                measure,
                format_figure(row.target, measure, units),
                format_figure(row.tolerance, measure, units, delta=True),
            )
            for measure in known.of_step(step)
            for spot in measure.spots
            if (row := rows.get(Key(measure.pk, spot))) is not None
        ]
        if lines:
            steps.append(StepTargets(step, lines))
    return BaselineView(baseline, steps, known)


def target_texts(view: BaselineView, box: str, units: Units) -> dict[str, str]:
    """What stands at a box, as text that means exactly the same when it is sent again."""
    line = next((row for step in view.steps for row in step.lines if str(row.key) == box), None)
    if line is None:
        return {}
    value, kind = line.value, Kind(line.measure.kind)

    return {
        "box": box,
        "target": same_text(value.target_typed, value.target, kind, units=units).text,
        "tolerance": same_text(
            value.tolerance_typed, value.tolerance, kind, units=units, delta=True
        ).text,
        "source": value.source,
        "source_note": value.source_note,
        "where": value.where,
    }


def baselines_of(chassis: Iterable[Chassis] | QuerySet[Chassis]) -> QuerySet[Baseline]:
    """The baselines of these chassis with how many targets each has; drafts for stewards only."""
    return (
        Baseline.objects.filter(chassis__in=chassis)
        .select_related("chassis", "race_class")
        .annotate(targets=Count("values"))
        .order_by("chassis__name", "surface", "race_class__name", "-version")
    )
