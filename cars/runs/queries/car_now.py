"""The car as it stands now: the sheet as set, what was changed since, and what that should make."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from cars.catalogue.adjusters import SPRING_SEAT
from cars.catalogue.keys import Key
from cars.catalogue.staleness import makes_stale
from cars.figures.derived import Figure, add_derived
from cars.figures.prediction_format import as_decimal
from cars.mechanics import CORNER_NAMES, BadInput, Corners, shares
from cars.mechanics.linear_response import Prediction, linear_response
from cars.models import Car, Sheet, TrackChange, TrackReading
from cars.plans.queries.turns import PERCENT, TurnTable, turn_table
from cars.runs.queries.track_changes import (
    set_sheet_at,
    set_sheet_now,
    standing,
    track_changes_of,
)
from cars.sheets.queries.at_track import FiguresNow
from cars.sheets.queries.sheets import versions_of
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from teams.models import Team

PRESSURE = "pressure"


@dataclass(frozen=True, slots=True)
class Expected:
    """A figure as it is expected to read now, canonical; `u` its standard uncertainty."""

    value: Decimal
    u: Decimal
    was: Decimal


@dataclass(frozen=True, eq=False, slots=True)
class CarNow:
    """A car on a sheet as set, with the changes that stand since and what they come to.

    `expected` holds the boxes that a change moved and that can be predicted; `due` those that a
    change touched and that nothing but reading them again will tell; `read` what was read again.
    """

    sheet: Sheet
    table: TurnTable
    changes: Sequence[TrackChange]
    standing: Sequence[TrackChange]
    expected: Mapping[Key, Expected]
    read: Mapping[Key, Figure]
    due: Sequence[Key]
    trouble: str = ""
    # What was read at the track, by box, with when; whether or not something touched it since.
    readings: Mapping[Key, tuple[Figure, datetime]] = field(default_factory=dict)

    def figure(self, key: Key) -> Figure | None:
        """What a box is to be taken for now: read again, expected, or as the sheet has it."""
        if key in self.read:
            return self.read[key]
        if key in self.expected:
            expected = self.expected[key]
            return Figure(expected.value, expected.u)
        if key in self.table.on_sheet.stale or key in self.due:
            return None
        return self.table.on_sheet.figures.get(key)

    @property
    def state(self) -> dict[str, Any]:
        """What a run keeps of the car, so that no later sheet or change moves under it."""
        keys = {*self.table.on_sheet.figures, *self.expected, *self.read}
        figures = {str(key): figure for key in keys if (figure := self.figure(key)) is not None}
        return {
            "changes": [
                {
                    "id": str(change.pk),
                    "adjuster": change.adjuster,
                    "spot": change.spot,
                    "amount": str(change.amount),
                    "unit": change.unit,
                }
                for change in self.standing
            ],
            "figures": {name: float(figure.value) for name, figure in sorted(figures.items())},
        }


def car_now(car: Car, viewer: User) -> CarNow | None:
    """The car as it stands; None where no sheet as set says how it was set."""
    sheet = set_sheet_now(car)
    return None if sheet is None else car_on(sheet, viewer)


def car_at(car: Car, team: Team, viewer: User, when: datetime) -> CarNow | None:
    """The car as it stood then, of the team that had it; None where no sheet as set says how."""
    sheet = set_sheet_at(car, team, when)
    if sheet is None:
        return None
    table = turn_table(sheet, viewer, until=when) if _was_open(sheet, when) else None
    return car_on(sheet, viewer, until=when, table=table)


def _was_open(sheet: Sheet, when: datetime) -> bool:
    """Whether it was being filled then: what was read on it later is none of that time.

    A correction, and a sheet that was typed in later, say how the car had stood.
    """
    opened, closed = sheet.created_at, sheet.closed_at
    return sheet.version == 1 and opened <= when and (closed is None or closed > when)


def car_on(
    sheet: Sheet, viewer: User, *, until: datetime | None = None, table: TurnTable | None = None
) -> CarNow:
    """The car on this sheet as set, with what was done and read at the track until then.

    `table`: the sheet's own, for whoever asks for several times.
    """
    table = table or turn_table(sheet, viewer)
    changes = track_changes_of(sheet, until=until)
    made = standing(changes)
    readings = _readings(sheet, until)
    read = {
        key: figure for key, (figure, at) in readings.items() if not _touched(key, at, made, table)
    }
    expected, trouble = _expected(table, made, readings)
    expected = {key: each for key, each in expected.items() if key not in read}
    due = [
        key
        for key in table.on_sheet.figures
        if key not in expected
        and key not in read
        and key.measure in table.on_sheet.known.measures
        and _touched(key, None, made, table)
    ]
    order = list(table.on_sheet.known.measures)
    due.sort(key=lambda key: order.index(key.measure))
    return CarNow(sheet, table, changes, made, expected, add_derived(read), due, trouble, readings)


def figures_changed(sheet: Sheet, viewer: User, until: datetime) -> FiguresNow:
    """Of the boxes that were changed or read again, what they should read; see `CarNow.figure`."""
    now = car_on(sheet, viewer, until=until)
    return {key: now.figure(key) for key in {*now.expected, *now.read, *now.due}}


FIGURES_AT_TRACK = [figures_changed]


def _readings(sheet: Sheet, until: datetime | None) -> dict[Key, tuple[Figure, datetime]]:
    rows = TrackReading.objects.current().filter(sheet__in=versions_of(sheet))
    if until is not None:
        rows = rows.filter(taken_at__lte=until)
    newest: dict[Key, tuple[Figure, datetime]] = {}
    for row in rows.order_by("taken_at", "id"):
        u = as_decimal(float(row.resolution) / 12**0.5)
        newest[Key(row.measure_id, row.spot)] = (
            Figure(row.value, u, row.resolution / 2),
            row.taken_at,
        )
    return newest


def _touched(
    key: Key, since: datetime | None, made: Iterable[TrackChange], table: TurnTable
) -> bool:
    """Whether one of the changes (those after `since`) calls for this box again."""
    known = table.on_sheet.known
    measure = known.measures.get(key.measure)
    return measure is not None and any(
        (since is None or change.made_at > since)
        and makes_stale(change, measure.pk, measure.step_id, key.spot, known)
        for change in made
    )


def _expected(
    table: TurnTable,
    made: Sequence[TrackChange],
    readings: Mapping[Key, tuple[Figure, datetime]],
) -> tuple[dict[Key, Expected], str]:
    expected = dict(_pressures(table, made))
    turned = [change for change in made if change.adjuster == SPRING_SEAT]
    others = [change for change in made if change.adjuster not in {SPRING_SEAT, PRESSURE}]
    if not turned:
        return expected, ""
    if table.calibrated is None or table.loads is None:
        return expected, " ".join(table.missing)
    if others:
        return expected, "Not all that was changed can be predicted: weigh the car again."
    for key, value in _turned(table, turned, readings).items():
        expected[key] = value
    return expected, ""


def _pressures(table: TurnTable, made: Iterable[TrackChange]) -> dict[Key, Expected]:
    """A cold pressure that was let down or blown up is what it was and so much more."""
    moved: dict[Key, Decimal] = {}
    for change in made:
        if change.adjuster == PRESSURE and change.spot in CORNER_NAMES:
            unit = unit_of(Kind.PRESSURE, change.unit)
            key = Key(PRESSURE, change.spot)
            amount = Decimal(str(float(unit.to_canonical(Fraction(change.amount)))))
            moved[key] = moved.get(key, Decimal(0)) + amount
    figures = table.on_sheet.figures
    return {
        key: Expected(figures[key].value + by, figures[key].u, figures[key].value)
        for key, by in moved.items()
        if key in figures and key not in table.on_sheet.stale
    }


def _turned(
    table: TurnTable,
    turned: Sequence[TrackChange],
    readings: Mapping[Key, tuple[Figure, datetime]],
) -> dict[Key, Expected]:
    """Weights, shares and heights after the seats were turned, from what was weighed last."""
    expected: dict[Key, Expected] = {}
    for measure in ("weight", "ride-height"):
        start, since = start_of(table, measure, readings)
        turns = sum_of_turns(change for change in turned if since is None or change.made_at > since)
        if start is None or not any(turns):
            continue
        what = _predict(table, measure, start, turns)
        if what is not None:
            expected |= boxes_of(measure, what)
    return expected


def start_of(
    table: TurnTable, measure: str, readings: Mapping[Key, tuple[Figure, datetime]]
) -> tuple[Corners | None, datetime | None]:
    """The four figures to start from: read again at the track, or as the sheet has them."""
    again = [readings.get(Key(measure, corner)) for corner in CORNER_NAMES]
    taken = [each for each in again if each is not None]
    if len(taken) == len(CORNER_NAMES):
        return Corners.of(float(figure.value) for figure, _ in taken), max(at for _, at in taken)
    return (table.loads if measure == "weight" else table.heights), None


def sum_of_turns(turned: Iterable[TrackChange]) -> Corners:
    by_corner = dict.fromkeys(CORNER_NAMES, 0.0)
    for change in turned:
        by_corner[change.spot] = by_corner.get(change.spot, 0.0) + float(change.amount)
    return Corners.of(by_corner[corner] for corner in CORNER_NAMES)


def _predict(table: TurnTable, measure: str, start: Corners, turns: Corners) -> Prediction | None:
    if table.calibrated is None or table.loads is None:
        return None
    loads = start if measure == "weight" else table.loads
    heights = table.heights if measure == "weight" else start
    linear = linear_response(table.calibrated, loads, heights, noise=table.noise, room=table.room)
    try:
        return linear.predict(turns)
    except BadInput:
        return None


def boxes_of(measure: str, what: Prediction) -> dict[Key, Expected]:
    before, after, u = (
        (what.loads_before, what.loads, what.u_loads)
        if measure == "weight"
        else (what.heights_before, what.heights, what.u_heights)
    )
    if before is None or after is None:
        return {}
    boxes = {
        Key(measure, corner): Expected(
            as_decimal(after[place]), as_decimal(u[place]), as_decimal(before[place])
        )
        for place, corner in enumerate(CORNER_NAMES)
    }
    if measure == "weight":
        was, total = shares(before), as_decimal(sum(before))
        boxes |= {
            Key(name, "car"): Expected(
                as_decimal(PERCENT * share),
                as_decimal(PERCENT * u_share),
                as_decimal(PERCENT * then),
            )
            for name, share, u_share, then in (
                ("cross", what.cross, what.u_cross, was.cross),
                ("left-share", what.left, what.u_left, was.left),
                ("rear-share", what.rear, what.u_rear, was.rear),
            )
        }
        # Turns move weight about and make none.
        boxes[Key("total-weight", "car")] = Expected(total, as_decimal(0.0), total)
    return boxes
