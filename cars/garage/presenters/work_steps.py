"""What is next in the garage: a step to measure, a weight short, a sheet to finish."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from uuid import UUID

from django.urls import reverse

from cars.bench.queries.open_benches import OpenBench
from cars.catalogue.doing import doing
from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.figures.formatting import format_box, format_changes
from cars.garage.presenters.next_steps import NextStep, next_steps
from cars.garage.queries import CarLine
from cars.models import Sheet
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

BALLAST = "ballast"


def _each(
    lines: Sequence[CarLine], viewer: User, say: Callable[[CarLine, Units], NextStep | None]
) -> dict[UUID, NextStep]:
    found = {line.car.pk: say(line, viewer.units(line.car.team.club.units())) for line in lines}
    return {car_id: step for car_id, step in found.items() if step is not None}


@next_steps(30)
def weight_short(lines: Sequence[CarLine], viewer: User) -> Mapping[UUID, NextStep]:
    """The newest sheet is under the minimum of the car's class, and the car is being set."""
    return _each(lines, viewer, _weight_short)


def _weight_short(line: CarLine, units: Units) -> NextStep | None:
    lack, figure = lacking_weight(line), line.figure("total-weight")
    if lack is None or figure is None or line.sheet is None or not _is_at_the_ballast(line):
        return None
    if lack <= -figure.reach:
        return None
    url = reverse("sheet-ballast", args=[line.sheet.pk])
    minimum = f"the {line.limit.race_class} minimum" if line.limit else ""
    if lack > figure.reach:
        lb = show(lack, Kind.MASS, unit=units.mass, style="decimal", places=1).text
        done = " Everything before ballast is done." if line.bench else ""
        return NextStep(
            before="The car is ",
            point=f"{lb} short",
            after=f" of {minimum} by your scales.{done}",
            does="Choose ballast",
            url=url,
        )
    return NextStep(
        before="The weight is ",
        point="too close to tell",
        after=f" from {minimum} by your scales.",
        does="Choose ballast",
        url=url,
    )


def lacking_weight(line: CarLine) -> Decimal | None:
    """The class's minimum less what the car weighs, kg; below 0 where it is over it."""
    figure, limit = line.figure("total-weight"), line.limit
    if figure is None or limit is None or limit.minimum is None:
        return None
    return limit.minimum - figure.value


def _is_at_the_ballast(line: CarLine) -> bool:
    """All before it is measured; a car that is not on the bench was set last."""
    if line.bench is None:
        return line.sheet is not None and line.sheet.role == Sheet.Role.SET
    on_it = line.sheet is not None and line.bench.sheet.pk == line.sheet.pk
    return on_it and line.bench.step.order >= cached_catalogue().step(BALLAST).order


@next_steps(40)
def open_step(lines: Sequence[CarLine], viewer: User) -> Mapping[UUID, NextStep]:
    """A sheet is open: the first step with something to take, or to finish it."""
    return _each(lines, viewer, _open_step)


def _open_step(line: CarLine, units: Units) -> NextStep | None:
    bench = line.bench
    if bench is None:
        return None
    if bench.is_complete:
        return NextStep(
            before=f"{_sheet_words(bench.sheet)}: ",
            point="everything is taken",
            after=".",
            does="Finish this sheet",
            url=reverse("bench-done", args=[bench.sheet.pk]),
        )
    does, url = doing(bench.step), reverse("bench", args=[bench.sheet.pk])
    if bench.here.retakes:
        boxes, why = _retake_words(bench, bench.here.retakes, units)
        return NextStep(
            point=f"{boxes} to take again",
            after=f": changed since, {why}.",
            does=does,
            url=url,
        )
    name, are = bench.step.name, "are" if bench.step.name.endswith("s") else "is"
    return NextStep(point=name, after=f" {are} next.", does=does, url=url)


def _retake_words(bench: OpenBench, keys: Sequence[Key], units: Units) -> tuple[str, str]:
    """'Weight, left front and 3 more', 'spring seat LF +1/2 turn'."""
    first = keys[0]
    measure = cached_catalogue().measures[first.measure]
    same = [key for key in keys if key.measure == first.measure]
    if len(keys) == 1:
        boxes = format_box(measure, first.spot)
    elif len(same) == len(keys):
        boxes = f"{measure.name} {' '.join(key.spot for key in keys)}"
    else:
        boxes = f"{len(keys)} boxes"
    return boxes, format_changes(bench.causes[first][:1], units)


@next_steps(50)
def to_be_set(lines: Sequence[CarLine], viewer: User) -> Mapping[UUID, NextStep]:
    """The car was measured as found, and no sheet as set follows."""
    return _each(lines, viewer, _to_be_set)


def _to_be_set(line: CarLine, _: Units) -> NextStep | None:
    if line.bench or line.sheet is None or line.sheet.role != Sheet.Role.FOUND:
        return None
    return NextStep(
        before=f"{_sheet_words(line.sheet)} is closed: ",
        point="the car can be set",
        after=".",
        does="Set the car",
        url=reverse("bench-done", args=[line.sheet.pk]),
    )


@next_steps(90)
def to_be_measured(lines: Sequence[CarLine], viewer: User) -> Mapping[UUID, NextStep]:
    """Nothing waits: what comes after the newest sheet is the car as it is found."""
    return _each(lines, viewer, _to_be_measured)


def _to_be_measured(line: CarLine, _: Units) -> NextStep:
    does, url = "Measure as found", reverse("bench-start", args=[line.car.pk])
    if line.sheet is None:
        return NextStep(point="No sheet yet", after=" of this car.", does=does, url=url)
    return NextStep(
        before="Nothing waits: it stands ",
        point=f"{line.sheet.get_role_display().lower()} {day(line.sheet.made_on)}",
        after=".",
        does=does,
        url=url,
    )


def _sheet_words(sheet: Sheet) -> str:
    return f"{sheet.get_role_display()} {day(sheet.made_on)}"


NEXT_STEPS = (weight_short, open_step, to_be_set, to_be_measured)
