"""What figures are shown against: the reader's units, the goals, and the measures' own words."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from cars.entries import Key
from cars.mechanics.goals import Goal
from cars.models import Measure
from cars.queries.plans import PERCENT, TurnTable
from clubsetup.quantities.units import Units

SHOWN = ("weight", "ride-height", "cross", "left-share", "rear-share")


@dataclass(frozen=True, slots=True)
class Frame:
    """Goals are canonical, by box; measures are those of SHOWN."""

    units: Units
    measures: Mapping[str, Measure]
    goals: Mapping[Key, Goal]

    @property
    def plain(self) -> list[Any]:
        """As lists and numbers."""
        words = {m.pk: [m.name, m.kind, *m.more_less] for m in self.measures.values()}
        goals = {str(key): [goal.value, goal.tolerance] for key, goal in self.goals.items()}
        return [asdict(self.units), words, goals]

    @classmethod
    def of_plain(cls, plain: list[Any]) -> "Frame":
        """From `plain`."""
        units, words, goals = plain
        return cls(
            Units(**units),
            {
                slug: Measure(slug=slug, name=name, kind=kind, more_less=more_less)
                for slug, (name, kind, *more_less) in words.items()
            },
            {Key.of(name): Goal(*goal) for name, goal in goals.items()},
        )


def frame_of(table: TurnTable) -> Frame:
    """What a sheet's predictions are shown against; the cross asked for stands above the target."""
    bench = table.bench
    goals = {key: goal for key, goal in bench.aims.goals.items() if key.measure in SHOWN}
    if table.target is not None and table.target.cross is not None:
        wanted = table.target.cross
        goals[Key("cross", "car")] = Goal(PERCENT * wanted.value, PERCENT * wanted.tolerance)
    return Frame(bench.units, {slug: bench.known.measures[slug] for slug in SHOWN}, goals)
