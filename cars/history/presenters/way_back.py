"""What to turn, swap and add to stand as on an earlier sheet, in the order of work."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from cars.catalogue.adjusters import ADJUSTERS, SPRING_SEAT, Adjuster
from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.figures.derived import Figure
from cars.figures.formatting import format_box, format_figure, format_value
from cars.figures.prediction_format import format_spread, format_turns
from cars.history.presenters.back_to_track import sheet_day
from cars.history.queries.way_back import (
    BoxBack,
    DriverBack,
    PartBack,
    TurnsBack,
    WayBack,
)
from cars.models import Measure, Part, Sheet
from cars.plans.queries.turns import PERCENT
from cars.runs.presenters.track import format_track_change
from cars.sheets.queries.parts_fitted import code_of
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

NO_CODE = "one without a code"
NOTHING_SET = "No sheet as set says how this car stands: measure it, then this page can tell."
NO_TURNS = (
    "What to turn at the spring seats cannot be computed from the car as it stands: with these "
    "targets at the bench it is, once the car is weighed and measured."
)


@dataclass(frozen=True, slots=True)
class BackLine:
    """'Cold pressure LF, 9 psi, 10 psi, 1 psi: blown up'."""

    name: str
    now: str
    then: str
    do: str = ""


@dataclass(frozen=True, slots=True)
class BackStep:
    """One step of the order of work."""

    number: int
    name: str
    caution: str
    lines: list[BackLine]
    parts: list[str]


@dataclass(frozen=True, slots=True)
class WayBackShown:
    """The whole list in the reader's units."""

    sheet: Sheet
    name: str
    standing: str  # as what the car stands now
    steps: list[BackStep]
    turns: list[tuple[str, str]]  # corner, '1/2 turn down'
    turns_make: str
    comes_to: list[BackLine]
    gone: list[str]
    to_read: list[str]
    notes: list[str]
    is_there: bool

    @property
    def turns_by_name(self) -> list[dict[str, str]]:
        """The same turns, each part by its name."""
        return [{"corner": corner, "turn": turn} for corner, turn in self.turns]


def show_way_back(way: WayBack, units: Units) -> WayBackShown:
    """For whoever looks."""
    return WayBackShown(
        sheet=way.sheet,
        name=sheet_day(way.sheet),
        standing=_standing(way, units),
        steps=_steps(way, units),
        turns=_turns(way.turns),
        turns_make=_turns_make(way.turns, units),
        comes_to=[_line(box, units) for box in way.comes_to],
        gone=list(_gone(way, units)),
        to_read=_names(way.to_read),
        notes=list(_notes(way, units)),
        is_there=way.is_there,
    )


def _standing(way: WayBack, units: Units) -> str:
    if way.now is None:
        return NOTHING_SET
    changes = ", ".join(format_track_change(change, units) for change in way.now.standing)
    then = f", then {changes}" if changes else ""
    return f"From the car as it stands: {sheet_day(way.now.sheet)}{then}."


def _steps(way: WayBack, units: Units) -> list[BackStep]:
    by_step = {each.step.pk: each.boxes for each in way.steps}
    parts_at = _parts_by_step(way)
    return [
        BackStep(
            step.order,
            step.name,
            step.caution,
            [_line(box, units) for box in by_step.get(step.pk, [])],
            [_part_words(part, units) for part in parts_at.get(step.pk, [])],
        )
        for step in cached_catalogue().steps
        if step.pk in by_step or step.pk in parts_at
    ]


def _parts_by_step(way: WayBack) -> dict[str, list[PartBack]]:
    """A tyre goes on in the step of the tyres, a spring and a damper in theirs."""
    steps: dict[str, list[PartBack]] = {}
    for part in way.parts:
        steps.setdefault(ADJUSTERS[part.sort].step, []).append(part)
    return steps


def _line(box: BoxBack, units: Units) -> BackLine:
    return BackLine(
        format_box(box.measure, box.key.spot),
        _figure(box.now, box.measure, units),
        _figure(box.then, box.measure, units),
        _do(box, units),
    )


def _figure(figure: Figure, measure: Measure, units: Units) -> str:
    return format_figure(figure.value, measure, units).removeprefix("about ")


def _do(box: BoxBack, units: Units) -> str:
    """'1 psi, blown up': how much, and which way that is to the hand."""
    apart = abs(box.then.value - box.now.value)
    amount = format_figure(apart, box.measure, units, delta=True).removeprefix("about ")
    if box.key.measure == "circumference":
        return f"a tyre {amount} {'longer' if box.is_more else 'shorter'} round"
    adjuster = _adjuster_of(box.key)
    if adjuster is None or adjuster.slug == SPRING_SEAT:
        return f"{amount} {'more' if box.is_more else 'less'}"
    way = adjuster.more if box.is_more else adjuster.less or adjuster.more
    return f"{amount}, {way.lower()}" if way else amount


def _adjuster_of(key: Key) -> Adjuster | None:
    """What sets this box first of all."""
    if key.measure == "spring-rate":
        return ADJUSTERS["spring"]
    own = (each for each in ADJUSTERS.values() if each.measures[:1] == (key.measure,))
    return next((each for each in own if key.spot in each.spots), None)


def _turns(turns: TurnsBack | None) -> list[tuple[str, str]]:
    if turns is None:
        return []
    return [(move.corner, format_turns(move.turns)) for move in turns.plan.moves]


def _turns_make(turns: TurnsBack | None, units: Units) -> str:
    """'Cross 56.1% to 55.4% (± 0.3%)': what they are predicted to make."""
    if turns is None:
        return ""
    after, u = turns.predicted.cross * PERCENT, turns.predicted.u_cross * PERCENT
    before = turns.predicted.loads_before
    was = PERCENT * (before.rf + before.lr) / sum(before)
    spread = format_spread(u, Kind.PERCENT, units)
    short = f" {turns.plan.shortfall}." if turns.plan.shortfall else ""
    return f"Cross {was:.1f}% to {after:.1f}% ({spread}), as it weighs now.{short}"


def _part_words(part: PartBack, units: Units) -> str:
    """'Spring LF: B07, where A12 is on now.'"""
    sort = Part.Sort(part.sort).label
    then = part.then or NO_CODE
    now = f", where {part.now or NO_CODE} is on now" if part.now else ""
    return f"{sort} {part.spot}: {then}{now}."


def _gone(way: WayBack, units: Units) -> Iterator[str]:
    """What may not be had again, with what comes nearest."""
    for part in way.parts:
        if part.spring is not None and part.spring.rate is not None:
            rate = format_value(
                part.spring.rate, Kind.SPRING_RATE, units.for_kind(Kind.SPRING_RATE)
            )
            yield (
                f"If spring {part.then or 'of then'} for {part.spot} is gone: "
                f"{code_of(part.spring) or NO_CODE} comes nearest, {rate.removeprefix('about ')}."
            )
        if part.tyre is not None:
            unit = units.for_kind(Kind.LENGTH)
            out = format_value(part.tyre.roll_out, Kind.LENGTH, unit).removeprefix("about ")
            yield (
                f"If tyre {part.then or 'of then'} for {part.spot} is worn out: "
                f"{part.tyre.code or NO_CODE} comes nearest, roll-out {out}."
            )
    yield from _driver_words(way.driver, units)


def _driver_words(driver: DriverBack, units: Units) -> Iterator[str]:
    if driver.is_another:
        yield (
            f"{driver.then} drove then, {driver.now} drives now: weight, seat and hands are "
            "another's. Cross and side shares are what comes nearest; the total is not."
        )
    if (apart := driver.heavier) is not None:
        unit = units.for_kind(Kind.MASS)
        amount = format_value(abs(apart), Kind.MASS, unit, delta=True).removeprefix("about ")
        heavier, ballast = ("heavier", "less") if apart > Decimal(0) else ("lighter", "more")
        whom = str(driver.then) if driver.is_another else "then"
        yield (
            f"{driver.now} is {amount} {heavier} than {whom}, dressed to race: {ballast} ballast "
            "comes nearest, as far as the class and the mounts allow."
        )


def _names(keys: list[Key]) -> list[str]:
    """Names of measures, each once, in the order of work."""
    known = cached_catalogue()
    return list(dict.fromkeys(known.measures[key.measure].name for key in keys))


def _notes(way: WayBack, units: Units) -> Iterator[str]:
    if way.changed_after:
        changes = ", ".join(format_track_change(change, units) for change in way.changed_after)
        yield f"After that sheet this was changed at the track, and stood: {changes}."
    if way.now is not None and way.turns is None and way.comes_to:
        yield NO_TURNS
