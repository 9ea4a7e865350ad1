"""Targets sent to the API as the actions take them."""

from collections.abc import Iterable, Mapping
from typing import Any

from cars.baselines.actions.baselines import Target
from cars.figures.tolerances import target_limits, tolerance_limits
from cars.models import Measure
from cars.models.catalogue import Taken
from clubsetup.access.errors import Invalid
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, QuantityLimits, Typed, parse
from clubsetup.quantities.units import Units


def targets_of(given: Iterable[Mapping[str, Any]], units: Units) -> list[Target]:
    """Parses the text of each target. Raises Invalid, naming the place of the first bad one."""
    return [_target(place, one, units) for place, one in enumerate(given)]


def _target(place: int, given: Mapping[str, Any], units: Units) -> Target:
    target, tolerance = figures_of_target(given, units, at=f"{place}/")
    return Target(
        measure=given["measure"],
        spot=given["spot"],
        target=target,
        tolerance=tolerance,
        source=given["source"],
        source_note=given["source_note"],
        where=given["where"],
    )


def figures_of_target(
    given: Mapping[str, Any], units: Units, *, at: str = ""
) -> tuple[Typed, Typed]:
    """Target and tolerance of the measure that is given with them. Raises Invalid."""
    measure: Measure = given["measure"]
    if measure.taken not in (Taken.QUANTITY, Taken.DERIVED):
        raise Invalid(f"{at}measure", f"{measure} is not a figure and has no target.")
    return (
        _typed(f"{at}target", given["target"], measure, units, target_limits(measure)),
        _typed(f"{at}tolerance", given["tolerance"], measure, units, tolerance_limits(measure)),
    )


def _typed(at: str, text: str, measure: Measure, units: Units, limits: QuantityLimits) -> Typed:
    try:
        return parse(text, Kind(measure.kind), units=units, limits=limits)
    except QuantityError as refusal:
        raise Invalid(at, refusal.message) from refusal
