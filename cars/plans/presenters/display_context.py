"""What figures are shown against: the reader's units, the targets, and the measures' own words."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from cars.catalogue.keys import Key
from cars.figures.judgement import Standard
from cars.models import Measure
from cars.plans.queries.turns import TurnTable
from clubsetup.quantities.units import Units

SHOWN = ("weight", "ride-height", "cross", "left-share", "rear-share")


@dataclass(frozen=True, slots=True)
class PlanDisplayContext:
    """Targets are canonical, by box; measures are those of SHOWN.

    `standing` are the figures as they stand now, each with its reach: while nothing is turned they
    are what is judged, as on the sheet, and not a prediction of them.
    """

    units: Units
    measures: Mapping[str, Measure]
    standards: Mapping[Key, Standard]
    standing: Mapping[Key, tuple[Decimal, Decimal]]

    @property
    def plain(self) -> list[Any]:
        """As lists, numbers and exact decimals in words."""
        words = {m.pk: [m.name, m.kind, *m.more_less] for m in self.measures.values()}
        targets = {
            str(key): [str(each.target), str(each.tolerance)]
            for key, each in self.standards.items()
        }
        standing = {str(key): list(map(str, pair)) for key, pair in self.standing.items()}
        return [asdict(self.units), words, targets, standing]

    @classmethod
    def of_plain(cls, plain: list[Any]) -> "PlanDisplayContext":
        """From `plain`."""
        units, words, targets, standing = plain
        return cls(
            Units(**units),
            {
                slug: Measure(slug=slug, name=name, kind=kind, more_less=more_less)
                for slug, (name, kind, *more_less) in words.items()
            },
            {Key.of(name): Standard(*map(Decimal, pair)) for name, pair in targets.items()},
            {Key.of(name): (Decimal(v), Decimal(r)) for name, (v, r) in standing.items()},
        )


def plan_display_context(table: TurnTable) -> PlanDisplayContext:
    """What a sheet's predictions are shown against; the cross asked for stands above the target."""
    on_sheet = table.on_sheet
    return PlanDisplayContext(
        on_sheet.units,
        {slug: on_sheet.known.measures[slug] for slug in SHOWN},
        {key: each for key, each in table.standards.items() if key.measure in SHOWN},
        {
            key: (figure.value, figure.reach)
            for key, figure in on_sheet.figures.items()
            if key.measure in SHOWN
        },
    )
