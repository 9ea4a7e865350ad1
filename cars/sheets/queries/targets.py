"""The targets of a sheet: where they come from, where they could, and what they are."""

from dataclasses import dataclass, field
from decimal import Decimal
from uuid import UUID

from django.db.models import Q

from cars.baselines.queries.own_targets import own_target_values
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.figures.derived import add_derived, figures_of
from cars.figures.tolerances import tolerance_of
from cars.models import Baseline, BaselineValue, Car, OwnTarget, Reading, Sheet, SheetTargetSource


@dataclass(frozen=True, slots=True)
class TargetSource:
    """Where targets come from: a sheet of the car, the team's `own` targets over a baseline, the
    baseline alone, or nowhere yet."""

    baseline: Baseline | None = None
    sheet: Sheet | None = None
    own: bool = False
    value: str = field(default="", compare=False)  # what a form or a program sends to choose it

    @property
    def kind(self) -> str:
        """'sheet', 'own', 'baseline' or 'nothing'."""
        if self.sheet is not None:
            return "sheet"
        if self.own:
            return "own"
        return "baseline" if self.baseline else "nothing"


def target_sources(car: Car) -> list[TargetSource]:
    """What the targets of a new sheet may be: the baselines in force, the team's own targets, its
    target sheets, and the sheet set last at each track.

    The car's own baseline comes first; where a newer one has replaced it, the one for its surface.
    """
    in_force = Baseline.objects.filter(chassis_id=car.chassis_id, state="published")
    own = car.baseline
    ordered = sorted(
        in_force.select_related("chassis"),
        key=lambda row: (own != row, own is not None and own.surface != row.surface),
    )
    return [
        *(TargetSource(row, value=f"baseline:{row.pk}") for row in ordered),
        *_own_of(car),
        *_sheets_of(car),
    ]


def _own_of(car: Car) -> list[TargetSource]:
    current = OwnTarget.objects.current().filter(car=car, team_id=car.team_id).exists()
    return [TargetSource(own=True, value="own")] if current else []


def _sheets_of(car: Car) -> list[TargetSource]:
    latest = Sheet.objects.current().filter(car=car, team_id=car.team_id)
    set_last = (
        latest.filter(role=Sheet.Role.SET, state=Sheet.State.CLOSED, track__isnull=False)
        .order_by("track_id", "-made_on", "-created_at")
        .distinct("track_id")
    )
    wanted = latest.filter(Q(role=Sheet.Role.TARGET) | Q(pk__in=set_last.values("pk")))
    rows = wanted.select_related("track", "baseline").order_by("-made_on", "-created_at")
    return [TargetSource(sheet=row, value=f"sheet:{row.pk}") for row in rows]


def target_source_of(sheet: Sheet) -> TargetSource:
    """As it was chosen when the sheet was opened. One query, two where it is another sheet."""
    chosen = SheetTargetSource.objects.filter(sheet_id=sheet.pk).order_by()
    rows = list(chosen.values_list("target_id", flat=True))
    if not rows:
        return TargetSource(sheet.baseline)
    if rows[0] is None:
        return TargetSource(sheet.baseline, own=True)
    target = Sheet.objects.select_related("track").get(pk=rows[0])
    return TargetSource(sheet.baseline, target)


def targets_of(
    sheet: Sheet, source: TargetSource, known: Catalogue, step: str = ""
) -> dict[Key, BaselineValue]:
    """The targets by box, as a baseline states them; of one step, where one is named.

    A target sheet states no tolerances: the baseline's are taken, or else the usual ones.
    """
    here = {"measure__step": step} if step else {}
    base = _of_baseline(sheet.baseline_id, here) if sheet.baseline_id else {}
    if source.sheet is not None:
        return _of_sheet(source.sheet.pk, base, known, here)
    own = _of_step(own_target_values(sheet), known, step) if source.own else {}
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
    standards = {}
    for key, figure in add_derived(figures_of(rows)).items():
        if key in base:
            tolerance = base[key].tolerance
        else:
            tolerance = Decimal(repr(tolerance_of(known.measures[key.measure])))
        standards[key] = BaselineValue(
            measure_id=key.measure, spot=key.spot, target=figure.value, tolerance=tolerance
        )
    return standards
