"""What was read after a run, and the parts that were on, as the run's page shows them."""

from dataclasses import dataclass

from cars.figures.prediction_format import format_predicted
from cars.models import Part, Run, Spot
from cars.runs.queries.after_run import AfterRun, after_run
from cars.runs.queries.run_parts import PartInRun, parts_in
from cars.sheets.queries.parts_fitted import code_of
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from teams.queries.roles import roles_of

NO_COLD = (
    "No cold pressure is on the sheet that this run stands on, so no gain can be told for them."
)


@dataclass(frozen=True, slots=True)
class TyreShown:
    """Each empty where it was not read."""

    corner: str
    cold: str
    hot: str
    gain: str
    roll_out_before: str
    roll_out: str


@dataclass(frozen=True, slots=True)
class AfterShown:
    """`staggers`: 'front 1/2 in'. `lacks`: why a gain is not told."""

    tyres: list[TyreShown]
    staggers: list[str]
    has_hot: bool
    has_roll_outs: bool
    lacks: str


def show_after(run: Run, units: Units) -> AfterShown | None:
    """None where nothing was read after the run."""
    after = after_run(run)
    return _shown(after, units) if after else None


def _shown(after: AfterRun, units: Units) -> AfterShown:
    tyres = [
        TyreShown(
            tyre.corner,
            cold=_pressure(tyre.cold, units),
            hot=_pressure(tyre.hot, units),
            gain=_gain(tyre.gain, units),
            roll_out_before=_length(tyre.roll_out_before, units),
            roll_out=_length(tyre.roll_out, units),
        )
        for tyre in after.tyres
    ]
    return AfterShown(
        tyres=tyres,
        staggers=[
            f"{axle} {_length(stagger, units)}"
            for axle, stagger in after.staggers.items()
            if stagger is not None
        ],
        has_hot=any(tyre.hot for tyre in tyres),
        has_roll_outs=any(tyre.roll_out for tyre in tyres),
        lacks=NO_COLD if any(tyre.hot and not tyre.cold for tyre in tyres) else "",
    )


def _pressure(value: float | None, units: Units) -> str:
    return "" if value is None else format_predicted(value, Kind.PRESSURE, units)


def _gain(value: float | None, units: Units) -> str:
    if value is None:
        return ""
    told = format_predicted(abs(value), Kind.PRESSURE, units)
    return f"{'−' if value < 0 else '+'}{told}"


def _length(value: float | None, units: Units) -> str:
    return "" if value is None else format_predicted(value, Kind.LENGTH, units)


@dataclass(frozen=True, slots=True)
class SortInRun:
    """One sort of part where it is on the car: 'LF S-12', 'RF swapped, not said for what'."""

    name: str
    places: list[str]


def show_parts(run: Run, viewer: User) -> list[SortInRun]:
    """The sorts of which something is known; nothing for who may not see the codes."""
    if not roles_of(viewer).may_see_codes(run.team_id):
        return []
    sorts: dict[str, list[str]] = {}
    for place in parts_in(run):
        if words := _part_words(place):
            where = "" if place.spot == Spot.CAR else f"{place.spot} "
            sorts.setdefault(place.sort, []).append(f"{where}{words}")
    return [SortInRun(_many(Part.Sort(sort)), places) for sort, places in sorts.items()]


def _many(sort: Part.Sort) -> str:
    """'Springs', but 'Chain': the car has one."""
    return f"{sort.label}s" if len(sort.spots) > 1 else str(sort.label)


def _part_words(place: PartInRun) -> str:
    if place.part is not None:
        return code_of(place.part) or "no code"
    return none_words(place) if place.swapped or place.said else ""


def none_words(place: PartInRun) -> str:
    """What it means that no part is named there."""
    if place.said:
        return "none of ours"
    return "swapped, not said for what" if place.swapped else "not noted"
