"""What a plan is after: what the sheet is worked towards, or a target of the team's own."""

from collections.abc import Mapping
from dataclasses import dataclass

from cars.entries import Key
from cars.mechanics.goals import Goal
from cars.models import BaselineValue, Sheet
from cars.queries.bench_targets import target_of, targets_of
from cars.queries.catalogue import Catalogue
from cars.tolerances import tolerance_of

BENCH = "bench"


@dataclass(frozen=True, slots=True)
class Aim:
    """One place the targets may come from."""

    value: str  # 'bench', or the id of a target sheet
    name: str


@dataclass(frozen=True, slots=True)
class Aims:
    """The goals by box, canonical, where they come from, and where else they could."""

    goals: dict[Key, Goal]
    chosen: Aim | None
    choices: tuple[Aim, ...]


def aims_of(sheet: Sheet, known: Catalogue, choice: str = "") -> Aims:
    """What the sheet is worked towards, or the car's target sheet `choice`.

    A sheet without any target aims at the car's newest target sheet, where it has one.
    """
    own = list(
        Sheet.objects.filter(
            car_id=sheet.car_id, role=Sheet.Role.TARGET, corrected_by__isnull=True
        ).exclude(pk=sheet.pk)
    )
    choices = [Aim(str(row.pk), f"Own target of {row.made_on:%d %b %Y}") for row in own]
    found, target = next((row for row in own if str(row.pk) == choice), None), target_of(sheet)
    goals = _goals(targets_of(sheet, found or target, known), known)
    if found is None and goals:
        bench = Aim(BENCH, _bench_name(sheet, target))
        return Aims(goals, bench, (bench, *choices))
    if found is None and own:
        goals = _goals(targets_of(sheet, own[0], known), known)
    chosen = next((aim for aim in choices if found and aim.value == str(found.pk)), None)
    bench_too = (Aim(BENCH, _bench_name(sheet, target)),) if sheet.baseline_id or target else ()
    return Aims(goals, chosen or (choices[0] if choices else None), (*bench_too, *choices))


def _bench_name(sheet: Sheet, target: Sheet | None) -> str:
    if target is not None:
        return f"{target}, {target.track}" if target.track else str(target)
    return f"Baseline: {sheet.baseline}" if sheet.baseline_id else "Our own preferences"


def _goals(targets: Mapping[Key, BaselineValue], known: Catalogue) -> dict[Key, Goal]:
    """Computed figures of a target sheet come with it; a tolerance of nothing is no tolerance."""
    return {
        key: Goal(
            float(row.target),
            float(row.tolerance) or tolerance_of(known.measures[key.measure]),
        )
        for key, row in targets.items()
    }
