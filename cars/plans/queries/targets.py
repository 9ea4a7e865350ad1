"""What a plan is after: what the sheet is worked towards, or a target of the team's own."""

from collections.abc import Mapping
from dataclasses import dataclass

from cars.baselines.queries.preferences import has_preferences
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.figures.judgement import Standard
from cars.figures.tolerances import tolerance_of
from cars.mechanics.goals import Goal
from cars.models import BaselineValue, Sheet
from cars.sheets.queries.targets import SheetTargetSource, target_source_of, targets_of
from clubsetup.clock.writing import day

BENCH, OWN = "bench", "own"
OWN_NAME = "Our own targets"


@dataclass(frozen=True, slots=True)
class Aim:
    """One place the targets may come from."""

    value: str  # 'bench', 'own', or the id of a target sheet
    name: str
    towards: SheetTargetSource


@dataclass(frozen=True, slots=True)
class Aims:
    """The goals by box, canonical, where they come from, and where else they could.

    Figures are judged by the `standards`, as on the sheet; a plan needs a tolerance to weigh its
    goals by, and takes the usual one where the standard allows none.
    """

    goals: dict[Key, Goal]
    chosen: Aim | None
    choices: tuple[Aim, ...]
    standards: Mapping[Key, Standard]


def aims_of(sheet: Sheet, known: Catalogue, choice: str = "") -> Aims:
    """What the sheet is worked towards, or the `choice` among the team's preferences and its
    target sheets of the car.

    A sheet without any target aims at the first of those that has one.
    """
    bench = target_source_of(sheet)
    others = _others(sheet, bench)
    first = _bench_aim(sheet, bench)
    aims = [first] if first else []
    aims += others
    chosen = next((aim for aim in aims if aim.value == choice), None)
    for aim in [chosen] if chosen else aims:
        targets = targets_of(sheet, aim.towards, known)
        if targets:
            by = {key: Standard(row.target, row.tolerance) for key, row in targets.items()}
            return Aims(_goals(targets, known), aim, tuple(aims), by)
    return Aims({}, chosen or next(iter(aims), None), tuple(aims), {})


def _bench_aim(sheet: Sheet, bench: SheetTargetSource) -> Aim | None:
    """What the bench was started towards; None where that is nothing."""
    target = bench.sheet
    if target is not None:
        name = f"{target}, {target.track}" if target.track else str(target)
    elif bench.own:
        name = f"{OWN_NAME}, then {sheet.baseline}" if sheet.baseline else OWN_NAME
    elif sheet.baseline:
        name = f"Baseline: {sheet.baseline}"
    else:
        return None
    return Aim(BENCH, name, bench)


def _others(sheet: Sheet, bench: SheetTargetSource) -> list[Aim]:
    targets = Sheet.objects.filter(
        car_id=sheet.car_id, team_id=sheet.team_id, role=Sheet.Role.TARGET, corrected_by=None
    ).exclude(pk__in=[sheet.pk, bench.sheet.pk if bench.sheet else sheet.pk])
    found = [
        Aim(str(row.pk), f"Own target of {day(row.made_on)}", SheetTargetSource(row))
        for row in targets
    ]
    if not bench.own and has_preferences(sheet):
        found.append(Aim(OWN, OWN_NAME, SheetTargetSource(own=True)))
    return found


def _goals(targets: Mapping[Key, BaselineValue], known: Catalogue) -> dict[Key, Goal]:
    """Computed figures of a target sheet come with it; a tolerance of nothing is no tolerance."""
    return {
        key: Goal(
            float(row.target),
            float(row.tolerance) or tolerance_of(known.measures[key.measure]),
        )
        for key, row in targets.items()
    }
