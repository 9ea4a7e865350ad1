"""The targets that a plan may go by, as people read them."""

from cars.plans.queries.targets import AS_OPENED
from cars.sheets.presenters.target_sources import source_name
from cars.sheets.queries.targets import TargetSource
from clubsetup.clock.writing import day


def plan_source_name(source: TargetSource) -> str:
    """As one of those to choose from; that of the sheet itself by its own name."""
    if source.kind == "baseline":
        return f"Baseline: {source.baseline}"
    if source.value == AS_OPENED:
        name = source_name(source)
        return name[:1].upper() + name[1:]
    return f"Own target of {day(source.sheet.made_on)}" if source.sheet else "Our own targets"
