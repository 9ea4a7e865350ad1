"""What is next for a car: one sentence and one button, from what is true of it now.

Each app brings what it knows, listed as `next_steps` in its AppConfig. The first that has something
to say of a car says it: lower comes first.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, pairwise
from operator import attrgetter
from uuid import UUID

from django.core.exceptions import ImproperlyConfigured
from django.urls import reverse

from cars.garage.queries import CarLine
from clubsetup.access.models import User
from clubsetup.site.contributions import contributed


@dataclass(frozen=True, slots=True)
class NextStep:
    """A sentence, its point set apart, and the one thing to do about it.

    `does` names what is done ('Measure ride heights'). `for_readers`: whoever only reads the car
    may do it too.
    """

    point: str
    does: str = ""
    url: str = ""
    before: str = ""
    after: str = ""
    for_readers: bool = False


Build = Callable[[Sequence[CarLine], User], Mapping[UUID, NextStep]]


@dataclass(frozen=True, slots=True)
class NextSteps:
    """Says of several cars at once what is next, by car; nothing of a car it knows nothing of."""

    order: int
    build: Build


_known: list[NextSteps] = []


def next_steps(order: int) -> Callable[[Build], NextSteps]:
    """Makes a function one that is asked. It stands in `NEXT_STEPS` of its module, too."""
    return lambda build: NextSteps(order, build)


def collect() -> None:
    """From what the apps list as `next_steps`; two cannot want the same place."""
    known = sorted(chain(*contributed("next_steps")), key=attrgetter("order"))
    for one, next_one in pairwise(known):
        if one.order == next_one.order:
            raise ImproperlyConfigured(f"two next steps want place {one.order}")
    _known[:] = known


def next_for(lines: Sequence[CarLine], viewer: User) -> dict[UUID, NextStep]:
    """What is next for each car; whoever may not do it is led to its newest sheet."""
    found: dict[UUID, NextStep] = {}
    for each in _known:
        found = {**each.build(lines, viewer), **found}
    return {line.car.pk: _for_reader(line, found[line.car.pk]) for line in lines}


def _for_reader(line: CarLine, step: NextStep) -> NextStep:
    if line.may_write or step.for_readers:
        return step
    sheet = line.bench.sheet if line.bench else line.sheet
    if sheet is None:
        return replace(step, does="", url="")
    does = f"Read it {sheet.get_role_display().lower()}"
    return replace(step, does=does, url=reverse("sheet", args=[sheet.pk]))
