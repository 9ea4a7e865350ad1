"""Figures of a sheet: those read off the car, and those computed from them."""

from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Protocol
from uuid import UUID

from cars.catalogue.keys import Key
from cars.figures.judgement import reach_of
from cars.mechanics import CORNER_NAMES, Corners, shares
from cars.mechanics.turning import lead as lead_of
from clubsetup.quantities.uncertainty import from_step

PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class Figure:
    """A value and its standard uncertainty, canonical.

    `half_step` of the tool it was read with; None for a computed figure.
    """

    value: Decimal
    u: Decimal = Decimal(0)
    half_step: Decimal | None = None

    @property
    def reach(self) -> Decimal:
        """How far off it may be: half a step as read, the 95 % uncertainty as computed."""
        return reach_of(self.u) if self.half_step is None else self.half_step


Figures = Mapping[Key, Figure]


class ReadFigure(Protocol):
    """What is asked of a reading here: a row, or a few columns of one."""

    @property
    def measure_id(self) -> str: ...
    @property
    def spot(self) -> str: ...
    @property
    def value(self) -> Decimal | None: ...
    @property
    def resolution(self) -> Decimal | None: ...
    @property
    def carried_from_id(self) -> UUID | None: ...
    @property
    def replaced_at(self) -> datetime | None: ...


def figures_of(readings: Iterable[ReadFigure]) -> dict[Key, Figure]:
    """The figures that stand, by box; repeats of one are averaged.

    What was read counts; figures carried from another sheet do where none of the box was.
    The uncertainty is that of the tool's step alone. Repeats do not lessen it: the same tape
    rounds the same way each time.
    """
    takes: dict[Key, list[ReadFigure]] = {}
    for row in readings:
        if row.value is not None and row.replaced_at is None:
            takes.setdefault(Key(row.measure_id, row.spot), []).append(row)
    return {key: _averaged(rows) for key, rows in takes.items()}


def value_to_build_on(figures: Figures, stale: Container[Key], key: Key) -> float | None:
    """A figure that was taken, and is not to be taken again."""
    figure = figures.get(key)
    return None if figure is None or key in stale else float(figure.value)


def _averaged(every: list[ReadFigure]) -> Figure:
    rows = [row for row in every if row.carried_from_id is None] or every
    values = [row.value for row in rows if row.value is not None]
    mean = values[0] if len(values) == 1 else sum(values, Decimal(0)) / len(values)
    step = max(row.resolution or Decimal(0) for row in rows)
    return Figure(mean, _decimal(from_step(float(step))), step / 2)


def _decimal(number: float) -> Decimal:
    return Decimal(repr(number)).quantize(Decimal("1e-9"))


def add_derived(read: Figures) -> dict[Key, Figure]:
    """The figures with stagger, lead, total and shares added, where all they need was read."""
    figures = dict(read)
    for derive in (_stagger, _lead, _shares):
        figures |= derive(read)
    return figures


def _difference(
    read: Figures, measure: str, left: str, right: str, of: Callable[[float, float], float]
) -> Figure | None:
    one, other = read.get(Key(measure, left)), read.get(Key(measure, right))
    if one is None or other is None or one.value <= 0 or other.value <= 0:
        return None
    u = (one.u * one.u + other.u * other.u).sqrt()
    return Figure(_decimal(of(float(one.value), float(other.value))), u)


def _stagger(read: Figures) -> dict[Key, Figure]:
    """Right circumference minus left, each axle."""
    both = {
        spot: _difference(read, "circumference", left, right, lambda lf, rf: rf - lf)
        for spot, left, right in (("front", "LF", "RF"), ("rear", "LR", "RR"))
    }
    return {Key("stagger", spot): figure for spot, figure in both.items() if figure}


def _lead(read: Figures) -> dict[Key, Figure]:
    figure = _difference(read, "wheelbase", "left", "right", lead_of)
    return {Key("lead", "car"): figure} if figure else {}


def _shares(read: Figures) -> dict[Key, Figure]:
    pads = [read.get(Key("weight", spot)) for spot in CORNER_NAMES]
    known = [pad for pad in pads if pad is not None]
    if len(known) < len(CORNER_NAMES):
        return {}
    weights, spread = ([float(n) for n in column] for column in _columns(known))
    if sum(weights) <= 0:
        return {}
    distribution = shares(Corners.of(weights), Corners.of(spread))
    total = sum((pad.value for pad in known), Decimal(0))
    return {
        Key("total-weight", "car"): Figure(total, _decimal(distribution.u_total)),
        Key("left-share", "car"): _percent(distribution.left, distribution.u_left),
        Key("rear-share", "car"): _percent(distribution.rear, distribution.u_rear),
        Key("cross", "car"): _percent(distribution.cross, distribution.u_cross),
    }


def _columns(figures: list[Figure]) -> tuple[list[Decimal], list[Decimal]]:
    return [figure.value for figure in figures], [figure.u for figure in figures]


def _percent(share: float, u: float) -> Figure:
    return Figure(_decimal(PERCENT * share), _decimal(PERCENT * u))
