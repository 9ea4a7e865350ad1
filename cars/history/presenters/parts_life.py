"""How long parts have run, in words, and what is told before a limit is near."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from uuid import UUID

from django.urls import reverse

from cars.bench.presenters.car_sections import CarSection
from cars.garage.presenters.part_notes import PartNote
from cars.history.queries.parts_life import (
    Counted,
    LimitState,
    PartLife,
    limits_of,
    lives,
    near_limits,
    states,
)
from cars.models import Car, Part, PartLimit, Spot, Step
from cars.sheets.queries.parts_fitted import code_of
from clubsetup.access.models import User
from teams.models import Team
from teams.queries.roles import roles_of

IN_ORDER = ("nights", "runs", "laps", "hours")
SAFE = "A limit says when to look. The maker's instructions and the club's rules come first."


@dataclass(frozen=True, slots=True)
class LimitShown:
    """'2 nights left of 8'; `whose`: 'the team's, for this part'."""

    state: LimitState
    says: str
    whose: str
    look: str
    mark: str


@dataclass(frozen=True, slots=True)
class CarLife:
    """What a part ran on one car."""

    car: Car | None
    says: str
    when: Counted


@dataclass(frozen=True, slots=True)
class NearPart:
    """A part on a car that is near a limit."""

    name: str
    says: str
    whose: str
    url: str


def count(value: Decimal | int, per: str) -> str:
    """'1 night', '8 nights', '1.6 hours'."""
    number = Decimal(value)
    if per == "hours":
        number = number.quantize(Decimal("0.1"), ROUND_HALF_UP)
    text = f"{number.normalize():f}" if number else "0"
    return f"{text} {per.removesuffix('s') if number == 1 else per}"


def life_words(life: PartLife) -> str:
    """'8 nights, 61 runs, 702 laps, 1.6 hours'; 'no run yet'."""
    if not any(life.so_far(per) for per in IN_ORDER):
        return "no run yet"
    return ", ".join(_amount(life, per) for per in IN_ORDER)


def _amount(life: PartLife, per: str) -> str:
    told = life.so_far(per)
    if life.is_least(per):
        return f"at least {count(told, per)}" if told else f"{per} not known"
    return count(told, per)


def counted_words(counted: Counted) -> str:
    """The same of one car."""
    return ", ".join(_amount(PartLife(Part(), counted), per) for per in IN_ORDER)


def untimed_words(life: PartLife) -> str:
    """Which runs are in neither laps nor hours; empty where every run has laps."""
    runs = life.counted.untimed
    if not runs:
        return ""
    have = "1 run has" if runs == 1 else f"{runs} runs have"
    return f"{have} no laps noted: counted as runs and nights, in neither laps nor hours."


def limit_shown(state: LimitState) -> LimitShown:
    """A limit in words."""
    near = state.is_near
    return LimitShown(
        state,
        limit_words(state),
        whose(state.limit),
        look="close" if near else "none",
        mark="waves" if near else "ring",
    )


def limit_words(state: LimitState) -> str:
    """'2 nights left of 8'; past it 'past 8 nights: 9 so far'."""
    per, most = state.limit.per, state.limit.most
    least = "at least " if state.is_least else ""
    if state.left < 0:
        return f"past {count(most, per)}: {least}{count(state.so_far, per)} so far"
    if state.left == 0:
        return f"{count(most, per)} reached"
    left = f"at most {count(state.left, per)}" if state.is_least else count(state.left, per)
    return f"{left} left of {count(most, per).split()[0]}"


def whose(limit: PartLimit) -> str:
    """'the club's', 'the team's for every chain', 'the team's for this one'."""
    if limit.club_id:
        return f"the club's for every {limit.sort}"
    return f"the team's for {'this one' if limit.part_id else f'every {limit.sort}'}"


def lives_by_car(life: PartLife, cars: Mapping[UUID, Car]) -> list[CarLife]:
    """Car by car, the one it was on last first; a car the viewer may not see has no name."""
    ordered = sorted(life.by_car.items(), key=lambda each: str(each[1].last), reverse=True)
    return [CarLife(cars.get(car), counted_words(each), each) for car, each in ordered]


def life_notes(parts: Sequence[Part], team: Team) -> dict[UUID, PartNote]:
    """Of each part on the team's list."""
    counted, limits = lives(parts, team), limits_of(team)
    return {
        pk: PartNote(life_words(life), "part", _warns(life, limits)) for pk, life in counted.items()
    }


def _warns(life: PartLife, limits: Sequence[PartLimit]) -> str:
    return next((limit_words(state) for state in states(life, limits) if state.is_near), "")


def parts_near_limits(car: UUID, team: UUID, viewer: User, step: Step | None) -> CarSection | None:
    """On a car's page: which parts on it are near a limit, for who may see the codes."""
    if step is not None or not roles_of(viewer).may_see_codes(team):
        return None
    near = near_limits(Car.objects.select_related("team__club").get(pk=car))
    if not near:
        return None
    lines = [
        NearPart(
            part_name(row.part, row.spot),
            limit_words(state),
            whose(state.limit),
            reverse("part", args=[row.part_id]),
        )
        for row, state in near
    ]
    return CarSection("cars/history/_near_limits.html", lines)


def part_name(part: Part, spot: str = Spot.CAR) -> str:
    """'Chain C-2', 'Tyre K2-left, RR'."""
    named = " ".join(filter(None, (str(part.get_sort_display()), code_of(part))))
    return named if spot == Spot.CAR else f"{named}, {spot}"


def limit_lines(limits: Iterable[PartLimit]) -> list[tuple[PartLimit, str]]:
    """Each with its words: 'Chain: 8 nights'."""
    order = Part.Sort.values
    rows = sorted(limits, key=lambda each: (order.index(each.sort), each.per))
    return [(row, f"{row.get_sort_display()}: {count(row.most, row.per)}") for row in rows]


PART_NOTES = (life_notes,)
