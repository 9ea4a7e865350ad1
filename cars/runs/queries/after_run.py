"""What was read off a car as it came in from a run, beside what it went out with."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.mechanics import CORNER_NAMES
from cars.models import Run, RunReading

PRESSURE, ROLL_OUT = "pressure", "circumference"
MEASURES = (PRESSURE, ROLL_OUT)


@dataclass(frozen=True, slots=True)
class TyreAfter:
    """One tyre: cold as it went out and hot as it came in, kPa; roll-outs before and after, mm."""

    corner: str
    cold: float | None
    hot: float | None
    roll_out_before: float | None
    roll_out: float | None

    @property
    def gain(self) -> float | None:
        """How far its pressure rose, kPa; None where either was not read."""
        if self.cold is None or self.hot is None:
            return None
        return self.hot - self.cold


@dataclass(frozen=True, slots=True)
class AfterRun:
    """The four tyres; `staggers`: of the front and the rear axle, right minus left, mm."""

    tyres: Sequence[TyreAfter]
    readings: Mapping[Key, RunReading]

    @property
    def staggers(self) -> dict[str, float | None]:
        """None where one of the two was not read."""
        by_corner = {tyre.corner: tyre.roll_out for tyre in self.tyres}
        found: dict[str, float | None] = {}
        for axle, right, left in (("front", "RF", "LF"), ("rear", "RR", "LR")):
            one, other = by_corner[right], by_corner[left]
            found[axle] = None if one is None or other is None else one - other
        return found


def after_run(run: Run) -> AfterRun | None:
    """None where nothing was read. One query."""
    rows = RunReading.objects.current().filter(run=run).select_related("measure", "by")
    readings = {Key(row.measure_id, row.spot): row for row in rows}
    if not readings:
        return None
    return AfterRun([_tyre(run, corner, readings) for corner in CORNER_NAMES], readings)


def _tyre(run: Run, corner: str, readings: Mapping[Key, RunReading]) -> TyreAfter:
    went_out: Mapping[str, float] = run.car_state.get("figures", {})
    hot, roll_out = (readings.get(Key(measure, corner)) for measure in MEASURES)
    return TyreAfter(
        corner,
        cold=went_out.get(f"{PRESSURE}.{corner}"),
        hot=float(hot.value) if hot else None,
        roll_out_before=went_out.get(f"{ROLL_OUT}.{corner}"),
        roll_out=float(roll_out.value) if roll_out else None,
    )
