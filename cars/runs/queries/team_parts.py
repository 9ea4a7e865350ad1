"""What a team has that a suggestion may name: springs by their rates, tyres by their roll-out."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db.models import F

from cars.figures.prediction_format import as_decimal
from cars.models import Part, PartFitted
from clubsetup.quantities.uncertainty import from_step

MOST_PARTS = 200  # of a sort; a team has some dozens


@dataclass(frozen=True, slots=True)
class KnownTyre:
    """A tyre of the team with its newest roll-out, mm, and where on the car it would go."""

    part: UUID
    code: str
    roll_out: Decimal
    u: Decimal
    spot: str


def team_springs(team: UUID) -> list[Part]:
    """Those with a rate, with their codes; none for whoever may not see parts."""
    rows = Part.objects.filter(team=team, sort=Part.Sort.SPRING, rate__isnull=False)
    return list(rows.select_related("code")[:MOST_PARTS])


def team_tyres(team: UUID) -> list[KnownTyre]:
    """Those that were rolled out on a car, each as it was read last."""
    fitted = PartFitted.objects.current().filter(
        team=team,
        sort=Part.Sort.TYRE,
        sheet__readings__measure="circumference",
        sheet__readings__spot=F("spot"),
        sheet__readings__replaced_at=None,
        sheet__readings__value__isnull=False,
    )
    names = ("part", "part__code__code", "sheet__readings__value", "sheet__readings__resolution")
    rows = fitted.order_by("part", "-sheet__readings__taken_at").distinct("part")
    return [
        KnownTyre(part, code or "", value, as_decimal(from_step(float(step or 0))), spot)
        for part, code, value, step, spot in rows.values_list(*names, "spot")[:MOST_PARTS]
    ]


def spring_near(springs: Iterable[Part], rate: Decimal, by: Decimal) -> Part | None:
    """The spring nearest to `rate` and `by` more, of those that change it that way.

    None where none comes nearer than the one that is on.
    """
    wanted = rate + by
    that_way = [
        spring for spring in springs if spring.rate is not None and (spring.rate - rate) * by > 0
    ]
    near = min(that_way, key=lambda one: abs((one.rate or 0) - wanted), default=None)
    return near if near is not None and abs((near.rate or 0) - wanted) < abs(by) else None
