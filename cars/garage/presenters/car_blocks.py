"""A car as it stands on a list: what is next, how far the work is, and four figures."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from uuid import UUID

from django.urls import reverse

from cars.bench.queries.open_benches import OpenBench, StepProgress
from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.figures.formatting import format_figure
from cars.garage.presenters.next_steps import NextStep, next_for
from cars.garage.presenters.work_steps import lacking_weight
from cars.garage.queries import CarLine, TeamCars, my_cars
from cars.models import Car
from clubsetup.access.models import User
from clubsetup.quantities.units import Units
from clubsetup.site.step_list import StepShown

# What says most about a car in one line.
SHOWN = ("cross", "left-share", "total-weight", "lead")
MOST_NAMED = 4


@dataclass(frozen=True, slots=True)
class ShownFigure:
    """One figure of the car; look, mark and words only where it is an exception."""

    name: str
    text: str
    look: str = ""
    mark: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class CarBlock:
    """All that a list says of a car."""

    line: CarLine
    next: NextStep
    figures: list[ShownFigure]
    steps: list[StepShown] = field(default_factory=list)
    here: StepShown | None = None

    @property
    def car(self) -> Car:
        return self.line.car

    @property
    def who(self) -> str:
        """'Pip, Starter': who drives it, as its newest sheet has it, and its class."""
        sheet = self.line.bench.sheet if self.line.bench else self.line.sheet
        driver = sheet.driver if sheet else None
        return ", ".join(str(part) for part in (driver, self.car.race_class) if part)

    @property
    def retakes(self) -> list[str]:
        """What is to be taken again on the open sheet, by its name."""
        bench, known = self.line.bench, cached_catalogue()
        keys = (key for each in bench.steps for key in each.retakes) if bench else ()
        return list(dict.fromkeys(known.measures[key.measure].name.lower() for key in keys))

    @property
    def retakes_said(self) -> str:
        """The first of them, and how many more there are."""
        named, more = self.retakes[:MOST_NAMED], len(self.retakes) - MOST_NAMED
        return ", ".join(named) + (f" and {more} more" if more > 0 else "")

    @property
    def to_take_again(self) -> int:
        """How many boxes that is."""
        return sum(len(each.retakes) for each in self.line.bench.steps) if self.line.bench else 0

    @property
    def other_benches(self) -> list[OpenBench]:
        """What else is open on it."""
        return self.line.open_benches[1:]


@dataclass(frozen=True, slots=True)
class TeamBlocks:
    """A team's cars."""

    group: TeamCars
    blocks: list[CarBlock]


def team_blocks(viewer: User, only: set[UUID] | None = None) -> list[TeamBlocks]:
    """The cars of the viewer's own teams and of those they coach (or `only` these), by team."""
    groups = my_cars(viewer, only)
    blocks = car_blocks([line for group in groups for line in group.lines], viewer)
    by_car = {block.car.pk: block for block in blocks}
    return [TeamBlocks(group, [by_car[each.car.pk] for each in group.lines]) for group in groups]


def car_blocks(lines: Sequence[CarLine], viewer: User) -> list[CarBlock]:
    """Each with what is next for it."""
    following = next_for(lines, viewer)
    return [_block(line, following[line.car.pk], viewer) for line in lines]


def _block(line: CarLine, following: NextStep, viewer: User) -> CarBlock:
    units = viewer.units(line.car.team.club.units())
    figures = [shown for slug in SHOWN if (shown := _shown(line, slug, units))]
    if line.bench is None:
        return CarBlock(line, following, figures)
    steps = [_step(line.bench, each) for each in line.bench.steps]
    here = next(step for step in steps if step.order == line.bench.step.order)
    return CarBlock(line, following, figures, steps, here)


def _step(bench: OpenBench, each: StepProgress) -> StepShown:
    again = len(each.retakes)
    return StepShown(
        order=each.step.order,
        name=each.step.name,
        url=reverse("bench-step", args=[bench.sheet.pk, each.step.pk]),
        said=f"{each.done} of {each.of}",
        is_done=each.is_done,
        retake=f"{again} to retake" if again else "",
    )


def _shown(line: CarLine, slug: str, units: Units) -> ShownFigure | None:
    key, measure = Key(slug, "car"), cached_catalogue().measures[slug]
    if key not in line.figures:
        return None
    figure = line.figures[key]
    text, name = format_figure(figure.value, measure, units), measure.name.removesuffix(" %")
    if key in line.again:
        return ShownFigure(name, text, "again", "again", "to take again")
    lack = lacking_weight(line) if slug == "total-weight" else None
    if lack is not None and lack > figure.reach:
        return ShownFigure(name, text, "bad", "low", "under the minimum")
    if lack is not None and lack > -figure.reach:
        return ShownFigure(name, text, "close", "waves", "too close to the minimum to tell")
    return ShownFigure(name, text)
