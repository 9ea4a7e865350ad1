"""What a plan is after: the baseline's targets, or the team's own target sheet."""

from dataclasses import dataclass
from uuid import UUID

from cars.entries import Key
from cars.figures import figures_of, with_derived
from cars.mechanics.goals import Goal
from cars.models import BaselineValue, Measure, Reading, Sheet
from cars.queries.catalogue import Catalogue

# Where neither baseline nor tool says how near is near enough. Common practice, no source.
USUAL_TOLERANCE = {"length": 1.5875, "percent": 0.5, "angle": 0.5, "mass": 0.5}
BASELINE = "baseline"


@dataclass(frozen=True, slots=True)
class Aim:
    """One place the targets may come from."""

    value: str  # 'baseline', or the id of a target sheet
    name: str


@dataclass(frozen=True, slots=True)
class Aims:
    """The goals by box, canonical, where they come from, and where else they could."""

    goals: dict[Key, Goal]
    chosen: Aim | None
    choices: tuple[Aim, ...]


def aims_of(sheet: Sheet, known: Catalogue, choice: str = "") -> Aims:
    """The targets of this sheet's baseline, or those of the car's target sheet `choice`.

    Without a choice the baseline stands; a car without one aims at its newest target sheet. A
    target sheet says no tolerances: the baseline's are taken, then the usual ones.
    """
    own = list(
        Sheet.objects.filter(
            car_id=sheet.car_id, role=Sheet.Role.TARGET, corrected_by__isnull=True
        ).exclude(pk=sheet.pk)
    )
    choices = [Aim(BASELINE, f"Baseline: {sheet.baseline}")] if sheet.baseline_id else []
    choices += [Aim(str(row.pk), f"Own target of {row.made_on:%d %b %Y}") for row in own]
    chosen = next((aim for aim in choices if aim.value == choice), None)
    chosen = chosen or (choices[0] if choices else None)
    base = _baseline(sheet.baseline_id, known) if sheet.baseline_id else {}
    goals = base
    if chosen is not None and chosen.value != BASELINE:
        goals = _own(UUID(chosen.value), base, known)
    return Aims(goals, chosen, tuple(choices))


def _baseline(baseline_id: UUID, known: Catalogue) -> dict[Key, Goal]:
    found = {}
    for row in BaselineValue.objects.filter(baseline_id=baseline_id):
        measure = known.measures[row.measure_id]
        tolerance = float(row.tolerance) or tolerance_of(measure)
        found[Key(row.measure_id, row.spot)] = Goal(float(row.target), tolerance)
    return found


def _own(sheet_id: UUID, base: dict[Key, Goal], known: Catalogue) -> dict[Key, Goal]:
    rows = Reading.objects.filter(sheet_id=sheet_id, replaced_at__isnull=True)
    return {
        key: Goal(
            float(figure.value),
            base[key].tolerance if key in base else tolerance_of(known.measures[key.measure]),
        )
        for key, figure in with_derived(figures_of(rows)).items()
    }


def tolerance_of(measure: Measure) -> float:
    """How near is near enough where nobody has said: the tool's step, or the usual."""
    usual = USUAL_TOLERANCE.get(measure.kind, 1.0)
    return max(usual, float(measure.tool_resolution or 0))
