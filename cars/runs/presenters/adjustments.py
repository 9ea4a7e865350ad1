"""What is changed between two runs, as buttons: what and where, then which way and how much."""

from dataclasses import dataclass
from decimal import Decimal

from cars.catalogue.adjusters import ADJUSTERS, SPRING_SEAT
from cars.figures.formatting import format_amount
from cars.mechanics import CORNER_NAMES
from clubsetup.quantities.units import Units

TURNS = ("1/4", "1/2", "3/4", "1")


@dataclass(frozen=True, slots=True)
class Adjustable:
    """One thing that can be changed at the track; `amounts` are offered each way.

    `more` and `less` say what the plus and the minus of an amount are to the hand.
    """

    adjuster: str
    spots: tuple[str, ...]
    unit: str
    amounts: tuple[str, ...]
    more: str
    less: str
    name: str


def _adjustable(slug: str, unit: str, amounts: tuple[str, ...], name: str = "") -> Adjustable:
    each = ADJUSTERS[slug]
    return Adjustable(slug, each.spots, unit, amounts, each.more, each.less, name or each.name)


EIGHTHS = ("1/8", "1/4", "1/2")
DEGREES = ("1/4", "1/2", "1")
INCHES = ("1/2", "1", "2")

# What is changed between two runs, the most usual first; common practice, no source.
ADJUSTABLE = (
    _adjustable(SPRING_SEAT, "turn", TURNS, "seat"),
    _adjustable("pressure", "psi", ("1/2", "1", "2"), "pressure"),
    _adjustable("tyre", "1", ("1",)),
    _adjustable("stagger", "in", EIGHTHS, "stagger"),
    _adjustable("damper", "click", ("1", "2", "3")),
    Adjustable("spring", CORNER_NAMES, "1", ("1",), "Swapped", "", "spring"),
    *(
        _adjustable(slug, "turn", TURNS)
        for slug in ("rear-rod-upper", "rear-rod-lower", "front-rod-upper", "front-rod-lower")
    ),
    _adjustable("lead", "in", EIGHTHS, "lead"),
    _adjustable("rear-rod-hole", "hole", ("1", "2"), "rear rod hole"),
    _adjustable("panhard-rod", "turn", TURNS),
    _adjustable("side-to-side", "in", EIGHTHS, "side to side"),
    _adjustable("steering-rod", "turn", TURNS),
    _adjustable("toe", "in", ("1/16", "1/8")),
    _adjustable("caster", "deg", DEGREES),
    _adjustable("camber", "deg", DEGREES),
    _adjustable("wheel-spacer", "in", EIGHTHS),
    _adjustable("ballast-height", "in", INCHES, "ballast up or down"),
    _adjustable("ballast-forward", "in", INCHES, "ballast along"),
    _adjustable("ballast-left", "in", INCHES, "ballast across"),
    _adjustable("gearing", "tooth", ("1", "2")),
    _adjustable("chain", "1", ("1",)),
    _adjustable("engine", "1", ("1",)),
)
_BY_SLUG = {each.adjuster: each for each in ADJUSTABLE}


def adjustable_or_none(what: str) -> tuple[Adjustable, str] | None:
    """What 'spring-seat.RF' names, and where; None where it names nothing."""
    slug, _, spot = what.partition(".")
    each = _BY_SLUG.get(slug)
    return (each, spot) if each is not None and spot in each.spots else None


@dataclass(frozen=True, slots=True)
class AmountButton:
    """`value` is what is sent: '-1/2'."""

    value: str
    says: str


@dataclass(frozen=True, slots=True)
class Way:
    """The amounts of one way: 'Down on the spring'."""

    says: str
    buttons: list[AmountButton]


def ways(each: Adjustable, units: Units) -> list[Way]:
    """The buttons of an adjuster, in the reader's units."""
    both = [(each.more, ""), (each.less, "-")]
    return [
        Way(
            says,
            [
                AmountButton(sign + amount, _words(sign, amount, each, units))
                for amount in each.amounts
            ],
        )
        for says, sign in both
        if says
    ]


def _words(sign: str, amount: str, each: Adjustable, units: Units) -> str:
    if each.unit == "1":
        return "Swapped"
    return format_amount(_decimal(sign, amount), each.unit, units)


def _decimal(sign: str, amount: str) -> Decimal:
    top, _, bottom = amount.partition("/")
    value = Decimal(top) / Decimal(bottom or 1)
    return -value if sign else value
