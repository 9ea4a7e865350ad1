"""Sheets side by side: what each says, and how far that is from the one they are held against."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from uuid import UUID

from django.db.models import QuerySet

from cars.bench.queries.open_benches import changes_by_sheet
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.catalogue.staleness import follows, stale_readings
from cars.figures.derived import Figure, add_derived, figures_of
from cars.figures.tolerances import tolerance_of
from cars.mechanics.differences import Difference, Known, difference, furthest
from cars.models import BaselineValue, Measure, PartFitted, Reading, Sheet
from cars.models.catalogue import Taken
from cars.sheets.queries.closed_figures import TakenFigure
from cars.sheets.queries.parts_fitted import code_of
from cars.sheets.queries.targets import TargetSource, target_source_of, targets_of
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import id_or_none

LEAST, MOST = 2, 12
HOW_MANY = "Choose two to twelve sheets."
# What depends on where a chassis has its parts and is measured: a figure of one says nothing of
# another. Common practice, no source.
OF_ITS_CHASSIS = frozenset(
    {
        *("seat-thread", "travel-used", "ride-height", "carrier-rotation", "rear-bar"),
        *("rear-rod-upper", "rear-rod-lower", "rear-rod-holes", "front-panel", "front-lateral"),
        *("front-rod-upper", "front-rod-lower", "steering-rod", "block-marks", "axle-tilt"),
    }
)


@dataclass(slots=True)
class ComparedSheet:
    """A sheet with what stands on it."""

    sheet: Sheet
    figures: Mapping[Key, Figure] = field(default_factory=dict)
    stale: Collection[Key] = ()  # to be taken again: they no longer say how the car stands
    carried: Collection[Key] = ()  # copied from another sheet
    words: Mapping[Key, str] = field(default_factory=dict)
    parts: Mapping[tuple[str, str], tuple[UUID, str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ComparedBox:
    """One box on every sheet; `differences` from the first sheet, None where nothing is compared.

    `apart` is the largest difference told, in tolerances.
    """

    key: Key
    measure: Measure
    figures: tuple[Figure | None, ...]
    differences: tuple[Difference | None, ...]
    tolerance: Decimal
    standard: BaselineValue | None = None
    apart: float | None = None

    @property
    def is_compared(self) -> bool:
        """The first sheet and another one have a figure that stands."""
        return any(each is not None for each in self.differences[1:])

    @property
    def has_own_tolerance(self) -> bool:
        """The targets say how near is near enough; else it is the usual."""
        return self.standard is not None and self.standard.tolerance > 0


@dataclass(frozen=True, slots=True)
class ComparedSheets:
    """All sheets, the one that the others are held against first, and the boxes in order."""

    sheets: list[ComparedSheet]
    boxes: list[ComparedBox]
    source: TargetSource

    @property
    def told(self) -> list[ComparedBox]:
        """What is apart by more than the tools can tell, the furthest first."""
        apart = [box for box in self.boxes if box.apart is not None]
        return sorted(apart, key=lambda box: -(box.apart or 0))

    @property
    def alike(self) -> list[ComparedBox]:
        """What was compared, and is apart by no more than the tools can tell."""
        return [box for box in self.boxes if box.is_compared and box.apart is None]

    @property
    def not_compared(self) -> list[ComparedBox]:
        """What has a figure on one sheet at least, and nothing to hold it against."""
        return [box for box in self.boxes if not box.is_compared and any(box.figures)]


def ids_of(texts: Sequence[str]) -> list[UUID]:
    """The ids that were sent, apart or with commas between. Raises Invalid."""
    named = [text.strip() for each in texts for text in each.split(",") if text.strip()]
    ids = [pk for text in named if (pk := id_or_none(text)) is not None]
    if len(ids) < len(named):
        raise Invalid("sheets", f"{HOW_MANY} One of these is the id of none.")
    if len(set(ids)) < len(ids):
        raise Invalid("sheets", "Choose each sheet once: one of these is there twice.")
    if not LEAST <= len(ids) <= MOST:
        raise Invalid("sheets", f"{HOW_MANY} That was {len(ids) or 'none'}.")
    return ids


def sheets_named(ids: Collection[UUID]) -> list[Sheet]:
    """Those of these sheets that the viewer may see, in the order they were named. One query."""
    joined = ("car__chassis", "team__club", "track", "baseline__chassis")
    rows = {row.pk: row for row in Sheet.objects.filter(pk__in=ids).select_related(*joined)}
    return [rows[pk] for pk in ids if pk in rows]


def newest_set_sheets(cars: Sequence[UUID]) -> list[UUID]:
    """Of each car its newest sheet as set, in the order of the cars. Raises Invalid."""
    rows = (
        Sheet.objects.current()
        .filter(car__in=cars, role=Sheet.Role.SET)
        .order_by("car_id", "-made_on", "-created_at")
        .distinct("car_id")
    )
    newest = dict(rows.values_list("car_id", "pk"))
    if any(car not in newest for car in cars):
        raise Invalid("cars", "One of these cars has no sheet as set that you may see.")
    return [newest[car] for car in cars]


def sheets_to_choose(teams: Collection[UUID], car: UUID | None = None) -> QuerySet[Sheet]:
    """The sheets that somebody may choose from, the newest first; of one car where it is named."""
    rows = Sheet.objects.current().filter(team__in=teams).select_related("car", "track")
    rows = rows.filter(car=car) if car else rows
    return rows.order_by("-made_on", "-created_at")


def compare_sheets(ids: Sequence[UUID]) -> ComparedSheets:
    """These sheets, held against the first. As many queries for twelve as for two.

    Raises Invalid where one is not there or not the viewer's to see, which is never told apart.
    """
    sheets = sheets_named(ids)
    found = {sheet.pk for sheet in sheets}
    if missing := [str(number) for number, pk in enumerate(ids, 1) if pk not in found]:
        which = ", ".join(missing)
        raise Invalid(
            "sheets", f"There is no such sheet, or it is not yours to see: number {which}."
        )
    known = cached_catalogue()
    compared = read_sheets(sheets, known)
    source = target_source_of(sheets[0])
    targets = targets_of(sheets[0], source, known)
    boxes = [
        _box(key, measure, compared, targets.get(key))
        for measure in known.measures.values()
        if measure.kind
        for key in (Key(measure.pk, spot) for spot in measure.spots)
    ]
    return ComparedSheets(compared, boxes, source)


def read_sheets(sheets: Sequence[Sheet], known: Catalogue) -> list[ComparedSheet]:
    """What stands on each sheet. Three queries."""
    readings: dict[UUID, list[TakenFigure]] = defaultdict(list)
    words: dict[UUID, dict[Key, str]] = defaultdict(dict)
    rows = Reading.objects.current().filter(sheet__in=sheets).order_by()
    for *columns, typed in rows.values_list(*TakenFigure._fields, "typed"):
        row = TakenFigure._make(columns)
        readings[row.sheet_id].append(row)
        measure = known.measures.get(row.measure_id)
        if measure is not None and measure.taken == Taken.WORDS:
            words[row.sheet_id][Key(row.measure_id, row.spot)] = typed
    changes, parts = changes_by_sheet(sheets), _parts(sheets)
    return [
        ComparedSheet(
            sheet,
            add_derived(figures_of(readings[sheet.pk])),
            stale_readings(readings[sheet.pk], changes[sheet.pk], known).keys(),
            _carried(readings[sheet.pk], known),
            words[sheet.pk],
            parts.get(sheet.pk, {}),
        )
        for sheet in sheets
    ]


def _carried(readings: Sequence[TakenFigure], known: Catalogue) -> set[Key]:
    read = {Key(r.measure_id, r.spot) for r in readings if r.carried_from_id is None}
    copied = {Key(r.measure_id, r.spot) for r in readings if r.carried_from_id is not None} - read
    computed = {
        Key(measure.pk, spot)
        for measure in known.measures.values()
        if measure.taken == Taken.DERIVED
        for spot in measure.spots
        if any(follows(measure.pk, spot, key) for key in copied)
    }
    return copied | computed


def _parts(sheets: Sequence[Sheet]) -> dict[UUID, dict[tuple[str, str], tuple[UUID, str]]]:
    """The parts on each, as far as the viewer may see codes: else the database shows none."""
    fitted: dict[UUID, dict[tuple[str, str], tuple[UUID, str]]] = defaultdict(dict)
    rows = PartFitted.objects.current().filter(sheet__in=sheets).select_related("part__code")
    for row in rows:
        fitted[row.sheet_id][row.sort, row.spot] = (row.part_id, code_of(row.part) or "")
    return fitted


def _box(
    key: Key, measure: Measure, sheets: list[ComparedSheet], standard: BaselineValue | None
) -> ComparedBox:
    figures = tuple(each.figures.get(key) for each in sheets)
    usual = Decimal(repr(tolerance_of(measure)))
    tolerance = standard.tolerance if standard and standard.tolerance > 0 else usual
    first = _comparable(key, sheets[0], sheets[0])
    differences = [None if first is None else difference(first, first)]
    for each in sheets[1:]:
        other = _comparable(key, each, sheets[0])
        both = first is not None and other is not None
        differences.append(difference(first, other) if both else None)  # type: ignore[arg-type]  # both
    told = [each for each in differences[1:] if each is not None]
    return ComparedBox(
        key, measure, figures, tuple(differences), tolerance, standard, furthest(told, tolerance)
    )


def _comparable(key: Key, of: ComparedSheet, first: ComparedSheet) -> Known | None:
    """The figure, if it still says how the car stands and means the same as on the first sheet."""
    figure = of.figures.get(key)
    if figure is None or key in of.stale or is_of_another_chassis(key, of, first):
        return None
    if figure.half_step is not None and key.measure.startswith("teeth-"):
        return Known(figure.value, Decimal(0), Decimal(0))  # counted, and not measured
    return Known(figure.value, figure.u, figure.half_step)


def is_of_another_chassis(key: Key, of: ComparedSheet, first: ComparedSheet) -> bool:
    """It is measured from parts that another chassis has elsewhere."""
    return key.measure in OF_ITS_CHASSIS and of.sheet.car.chassis_id != first.sheet.car.chassis_id
