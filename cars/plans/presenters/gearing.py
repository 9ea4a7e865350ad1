"""Gearing as the person looking reads it."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from cars.figures.prediction_format import as_decimal, format_predicted
from cars.plans.queries.gearing import (
    CarGearing,
    ChainFigures,
    GearingAsked,
    GearingFigures,
    NoGearing,
    SprocketsTouch,
    gearing_figures,
)
from clubsetup.access.errors import Invalid
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

# A chain is tightened by less than a sixteenth.
PARTS_OF_CENTRE = 32
SAME_CENTRE = 0.05  # mm

NO_TEETH = "Count the teeth: no sheet of the car has them."
HALF_A_STAGE = "A first stage has two: count the teeth of both, or leave both."
NO_GEARING = {
    "driving": NO_TEETH,
    "driven": NO_TEETH,
    "first_driving": HALF_A_STAGE,
    "first_driven": HALF_A_STAGE,
    "roll_out": "Without the roll-out no speed can be worked out: roll a rear tyre one whole turn "
    "and measure how far it went.",
    "pitch": "Say the chain's pitch too, as in 3/8 in: links are counted in it.",
    "centre_distance": "Say how far the two shafts are apart too, as in 8 1/2 in.",
}


@contextmanager
def gearing_refusals() -> Iterator[None]:
    """Says beside its field why there is no answer: raises Invalid for NoGearing."""
    try:
        yield
    except SprocketsTouch as problem:
        raise Invalid(problem.field, _touching(problem)) from None
    except NoGearing as problem:
        raise Invalid(problem.field, NO_GEARING[problem.field]) from None


def figures_or_refusal(*, asked: GearingAsked) -> GearingFigures:
    """Everything that follows from what was asked. Raises Invalid with the field at fault."""
    with gearing_refusals():
        return gearing_figures(asked)


def _touching(problem: SprocketsTouch) -> str:
    reach, unit = as_decimal(problem.least), problem.unit
    distance = show(reach, Kind.LENGTH, unit=unit, style="decimal", places=2).text
    return (
        f"So near, sprockets of {problem.driving} and {problem.driven} teeth touch: the shafts "
        f"must be more than {distance} apart. Check the distance, the teeth and the pitch."
    )


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of the answer."""

    name: str
    text: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class SprocketRow:
    """One sprocket on the axle."""

    driven: int
    ratio: str
    engine_speed: str
    chain: str
    is_asked: bool


@dataclass(frozen=True, slots=True)
class GearingAnswer:
    """What the page says."""

    facts: list[Fact]
    compared_at: str  # the ground speed of the rows' engine speeds; empty without one
    has_chain: bool
    rows: list[SprocketRow]


def gearing_answer(asked: GearingAsked, figures: GearingFigures, units: Units) -> GearingAnswer:
    """The answer in words."""
    facts = [Fact("Ratio", _ratio(figures.ratio))]
    if figures.ground_speed is not None and asked.engine_speed is not None:
        speed = format_predicted(figures.ground_speed, Kind.SPEED, units)
        facts.append(Fact(f"Speed at {_turns(asked.engine_speed)}", speed))
    if figures.engine_speed is not None and asked.speed is not None:
        aimed_at = format_predicted(asked.speed, Kind.SPEED, units)
        facts.append(Fact(f"Engine at {aimed_at}", _turns(figures.engine_speed)))
    if figures.chain is not None:
        facts += _chain(asked, figures.chain, units)
    at = figures.compared_at
    return GearingAnswer(
        facts=facts,
        compared_at="" if at is None else format_predicted(at, Kind.SPEED, units),
        has_chain=figures.chain is not None,
        rows=[
            SprocketRow(
                driven=line.driven,
                ratio=_ratio(line.ratio),
                engine_speed="" if line.engine_speed is None else _turns(line.engine_speed),
                chain="they touch" if line.whole_chain is None else str(line.whole_chain),
                is_asked=line.driven == asked.driven,
            )
            for line in figures.neighbours
        ],
    )


def _chain(asked: GearingAsked, chain: ChainFigures, units: Units) -> list[Fact]:
    typed = float(asked.centre_distance.value) if asked.centre_distance else chain.centre_distance
    apart = chain.centre_distance - typed
    way = f"{_fine(abs(apart), units)} {'further' if apart > 0 else 'nearer'} than asked"
    return [
        Fact("Chain", f"{chain.whole} links", f"{chain.links:.1f} that far apart"),
        Fact(
            "Centre distance then",
            _fine(chain.centre_distance, units),
            "as asked" if abs(apart) < SAME_CENTRE else way,
        ),
    ]


def _ratio(ratio: float) -> str:
    return f"{ratio:.2f}"


def _turns(rpm: float) -> str:
    return f"{rpm:,.0f} rpm"


def _fine(mm: float, units: Units) -> str:
    """A length to a thirty-second of an inch, or a tenth of a millimetre."""
    if units.length not in ("in", "ft"):
        return format_predicted(mm, Kind.LENGTH, units)
    return show(
        as_decimal(mm), Kind.LENGTH, unit="in", style="fraction", denominator=PARTS_OF_CENTRE
    ).pretty


def length_in_a_box(mm: float, units: Units) -> str:
    """A length as it is put into a box, exactly."""
    return show(as_decimal(mm), Kind.LENGTH, unit=units.length).text


def teeth_source(car: CarGearing) -> str:
    """'As found 14 March: 11 driving 66.'; empty where no sheet has them."""
    if car.teeth_on is None or car.driving is None or car.driven is None:
        return ""
    return f"{car.teeth_on}: {car.driving} driving {car.driven}."


def roll_out_source(car: CarGearing, units: Units) -> str:
    """'As found 14 March: LR 33 in, RR 35 in, of which the middle.'"""
    if car.rolled_on is None:
        return "No sheet of the car has it: roll a rear tyre one whole turn and measure how far."
    if not car.rolled:
        return f"{car.rolled_on}: to be read again, something was changed since."
    read = ", ".join(
        f"{corner} {format_predicted(mm, Kind.LENGTH, units)}" for corner, mm in car.rolled.items()
    )
    if len(car.rolled) == 1:
        other = "to be read again" if car.roll_again else "not read"
        return f"{car.rolled_on}: {read}, the other {other}."
    return f"{car.rolled_on}: {read}; their mean is what the middle of a solid axle rolls on."
