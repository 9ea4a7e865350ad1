"""What a newer version of a baseline changed, for the cars that go by an older one."""

from collections.abc import Iterable
from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.figures.formatting import format_figure
from cars.models import Baseline, BaselineValue, Measure
from clubsetup.access.models import User
from clubsetup.quantities.units import Units


@dataclass(frozen=True, slots=True)
class ChangedTarget:
    """One target that is not what it was."""

    key: Key
    box: str
    was: str  # empty: it is new
    now: str  # empty: it was taken out


@dataclass(frozen=True, slots=True)
class Newer:
    """The version in force, the older one, and what changed between them."""

    old: Baseline
    new: Baseline
    changes: list[ChangedTarget]


def newer_than(baseline: Baseline | None, viewer: User) -> Newer | None:
    """The version in force of this baseline's line where it is a later one; else None.

    One query where there is none, three where there is one.
    """
    if baseline is None:
        return None
    new = (
        Baseline.objects.select_related("club", "chassis")
        .filter(
            chassis_id=baseline.chassis_id,
            surface=baseline.surface,
            race_class_id=baseline.race_class_id,
            state=Baseline.State.PUBLISHED,
            version__gt=baseline.version,
        )
        .first()
    )
    if new is None:
        return None
    units = viewer.units(new.club.units())
    values = BaselineValue.objects.filter(baseline__in=[baseline.pk, new.pk])
    return Newer(baseline, new, list(_changed(baseline, new, values, units)))


def _changed(
    old: Baseline, new: Baseline, values: Iterable[BaselineValue], units: Units
) -> Iterable[ChangedTarget]:
    by_version: dict[object, dict[Key, BaselineValue]] = {old.pk: {}, new.pk: {}}
    for value in values:
        by_version[value.baseline_id][Key(value.measure_id, value.spot)] = value
    was, now = by_version[old.pk], by_version[new.pk]
    for measure in Measure.objects.order_by("step__order", "order"):
        for spot in measure.spots:
            key = Key(measure.pk, spot)
            before, after = was.get(key), now.get(key)
            if _figures(before) != _figures(after):
                box = measure.name if spot == "car" else f"{measure.name} {spot}"
                yield ChangedTarget(key, box, *_texts(before, after, measure, units))


def _figures(value: BaselineValue | None) -> object:
    return (value.target, value.tolerance) if value else None


def _texts(
    before: BaselineValue | None, after: BaselineValue | None, measure: Measure, units: Units
) -> tuple[str, str]:
    """The targets; with their tolerances where those alone differ."""
    alone = before is not None and after is not None and before.target == after.target
    return _one(before, measure, units, alone), _one(after, measure, units, alone)


def _one(value: BaselineValue | None, measure: Measure, units: Units, tolerance: bool) -> str:
    if value is None:
        return ""
    text = format_figure(value.target, measure, units)
    near = format_figure(value.tolerance, measure, units, delta=True)
    return f"{text} ± {near}" if tolerance else text
