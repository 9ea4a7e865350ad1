"""What the figures of a sheet are worked towards, and what it could be."""

from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db.models import Q

from cars.baselines.queries.preferences import preferred_targets
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.figures.derived import add_derived, figures_of
from cars.figures.tolerances import tolerance_of
from cars.models import Baseline, BaselineValue, BenchTarget, Car, Preference, Reading, Sheet
from clubsetup.clock.writing import day


@dataclass(frozen=True, slots=True)
class TargetChoice:
    """One thing a bench may be worked towards: a baseline or a sheet."""

    value: str
    name: str
    baseline: Baseline | None = None
    target: Sheet | None = None
    own: bool = False  # the team's preferences, over the baseline in force


def target_choices(car: Car) -> list[TargetChoice]:
    """The baselines in force, the team's preferences, its target sheets, and the last sheet left
    at each track.

    The car's own baseline comes first; where a newer one has replaced it, the one for its surface.
    """
    in_force = Baseline.objects.filter(chassis_id=car.chassis_id, state="published")
    own = car.baseline
    ordered = sorted(
        in_force.select_related("chassis"),
        key=lambda row: (own != row, own is not None and own.surface != row.surface),
    )
    return [
        *(TargetChoice(f"baseline:{row.pk}", f"Baseline: {row}", baseline=row) for row in ordered),
        *_preferences_of(car),
        *_sheets_of(car),
    ]


def _preferences_of(car: Car) -> list[TargetChoice]:
    standing = Preference.objects.current().filter(car=car, team_id=car.team_id).exists()
    name = "Our own targets, and the baseline where we have none"
    return [TargetChoice("own", name, own=True)] if standing else []


def _sheets_of(car: Car) -> list[TargetChoice]:
    standing = Sheet.objects.filter(car=car, team_id=car.team_id, corrected_by__isnull=True)
    left = (
        standing.filter(role=Sheet.Role.LEFT, state=Sheet.State.CLOSED, track__isnull=False)
        .order_by("track_id", "-made_on", "-created_at")
        .distinct("track_id")
    )
    wanted = standing.filter(Q(role=Sheet.Role.TARGET) | Q(pk__in=left.values("pk")))
    rows = wanted.select_related("track", "baseline").order_by("-made_on", "-created_at")
    return [TargetChoice(f"sheet:{row.pk}", _said(row), target=row) for row in rows]


def _said(sheet: Sheet) -> str:
    left_on = day(sheet.made_on)
    if sheet.role == Sheet.Role.TARGET:
        return f"Our own target of {left_on}" + (f", {sheet.track}" if sheet.track else "")
    return f"As set last time at {sheet.track}, {left_on}"


@dataclass(frozen=True, slots=True)
class SheetTargetSource:
    """What a sheet is worked towards: another sheet, or the team's `own` preferences over its
    baseline; with neither, its baseline."""

    sheet: Sheet | None = None
    own: bool = False


def target_source_of(sheet: Sheet) -> SheetTargetSource:
    """As it was chosen when the bench was started. One query, two where it is another sheet."""
    chosen = BenchTarget.objects.filter(sheet_id=sheet.pk).order_by()
    rows = list(chosen.values_list("target_id", flat=True))
    if not rows:
        return SheetTargetSource()
    if rows[0] is None:
        return SheetTargetSource(own=True)
    return SheetTargetSource(Sheet.objects.select_related("track").get(pk=rows[0]))


@dataclass(frozen=True, slots=True)
class TargetSourceName:
    """What a bench is worked towards, by name."""

    kind: str  # 'sheet', 'own', 'baseline' or 'nothing'
    name: str
    target: Sheet | None = None


def name_target_source(sheet: Sheet, towards: SheetTargetSource) -> TargetSourceName:
    """Names what `sheet` is worked towards."""
    if (target := towards.sheet) is not None:
        name = f"{target}, {target.track}" if target.track else f"{target}"
        return TargetSourceName("sheet", name, target)
    baseline = str(sheet.baseline) if sheet.baseline else ""
    if towards.own:
        return TargetSourceName("own", ", then ".join(filter(None, ["our own targets", baseline])))
    return (
        TargetSourceName("baseline", baseline)
        if baseline
        else TargetSourceName("nothing", "none yet")
    )


def targets_of(
    sheet: Sheet, towards: SheetTargetSource, known: Catalogue, step: str = ""
) -> dict[Key, BaselineValue]:
    """The targets by box, as a baseline states them; of one step, where one is named.

    A target sheet states no tolerances: the baseline's are taken, or else the usual ones.
    """
    here = {"measure__step": step} if step else {}
    base = _of_baseline(sheet.baseline_id, here) if sheet.baseline_id else {}
    if towards.sheet is not None:
        return _of_sheet(towards.sheet.pk, base, known, here)
    own = _of_step(preferred_targets(sheet), known, step) if towards.own else {}
    return {**base, **own}


def _of_step(
    own: dict[Key, BaselineValue], known: Catalogue, step: str
) -> dict[Key, BaselineValue]:
    if not step:
        return own
    here = {measure.pk for measure in known.of_step(known.step(step))}
    return {key: row for key, row in own.items() if key.measure in here}


def _of_baseline(baseline_id: UUID, here: dict[str, str]) -> dict[Key, BaselineValue]:
    rows = BaselineValue.objects.filter(baseline_id=baseline_id, **here)
    return {Key(row.measure_id, row.spot): row for row in rows}


def _of_sheet(
    sheet_id: UUID, base: dict[Key, BaselineValue], known: Catalogue, here: dict[str, str]
) -> dict[Key, BaselineValue]:
    rows = Reading.objects.current().filter(sheet_id=sheet_id, **here)
    found = {}
    for key, figure in add_derived(figures_of(rows)).items():
        if key in base:
            tolerance = base[key].tolerance
        else:
            tolerance = Decimal(repr(tolerance_of(known.measures[key.measure])))
        found[key] = BaselineValue(
            measure_id=key.measure, spot=key.spot, target=figure.value, tolerance=tolerance
        )
    return found
