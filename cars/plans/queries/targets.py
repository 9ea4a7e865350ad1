"""The targets of a plan: those of the sheet, or others that the team has."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from cars.baselines.queries.own_targets import has_own_targets
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.figures.judgement import Standard
from cars.figures.tolerances import tolerance_of
from cars.mechanics.goals import Goal
from cars.models import BaselineValue, Sheet
from cars.sheets.queries.targets import TargetSource, target_source_of, targets_of

AS_OPENED, OWN = "sheet", "own"


@dataclass(frozen=True, slots=True)
class Targets:
    """The goals by box, canonical, the source they come from, and the sources there are.

    Figures are judged by the `standards`, as on the sheet; a plan needs a tolerance to weigh its
    goals by, and takes the usual one where the standard allows none.
    """

    goals: dict[Key, Goal]
    source: TargetSource | None
    sources: tuple[TargetSource, ...]
    standards: Mapping[Key, Standard]


def plan_targets(sheet: Sheet, known: Catalogue, choice: str = "") -> Targets:
    """Of the source the sheet was opened with, or of the `choice` among the team's own targets
    and its target sheets of the car.

    A sheet without any target takes the first of those that has one.
    """
    opened_with = target_source_of(sheet)
    first = _as_opened(opened_with)
    sources = [*([first] if first else []), *_others(sheet, opened_with)]
    chosen = next((source for source in sources if source.value == choice), None)
    for source in [chosen] if chosen else sources:
        targets = targets_of(sheet, source, known)
        if targets:
            by = {key: Standard(row.target, row.tolerance) for key, row in targets.items()}
            return Targets(_goals(targets, known), source, tuple(sources), by)
    return Targets({}, chosen or next(iter(sources), None), tuple(sources), {})


def _as_opened(source: TargetSource) -> TargetSource | None:
    """The source the sheet was opened with; None where it was opened with none."""
    if source.kind == "nothing":
        return None
    return replace(source, value=AS_OPENED)


def _others(sheet: Sheet, source: TargetSource) -> list[TargetSource]:
    targets = (
        Sheet.objects.current()
        .filter(car_id=sheet.car_id, team_id=sheet.team_id, role=Sheet.Role.TARGET)
        .exclude(pk__in=[sheet.pk, source.sheet.pk if source.sheet else sheet.pk])
    )
    sources = [TargetSource(sheet=row, value=str(row.pk)) for row in targets]
    if not source.own and has_own_targets(sheet):
        sources.append(TargetSource(own=True, value=OWN))
    return sources


def _goals(targets: Mapping[Key, BaselineValue], known: Catalogue) -> dict[Key, Goal]:
    """Computed figures of a target sheet come with it; a tolerance of nothing is no tolerance."""
    return {
        key: Goal(
            float(row.target),
            float(row.tolerance) or tolerance_of(known.measures[key.measure]),
        )
        for key, row in targets.items()
    }
