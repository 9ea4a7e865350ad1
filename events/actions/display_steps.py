"""What the display of a scale set can show at all."""

from fractions import Fraction

from clubsetup.access.errors import Invalid
from clubsetup.quantities.kinds import PLACES, Kind, rounded
from clubsetup.quantities.reading import Typed, parse
from clubsetup.quantities.writing import tell
from events.models import ScaleSet


def refuse_between_steps(field: str, typed: Typed | None, scale_set: ScaleSet) -> None:
    """Raises Invalid, naming the figures on either side, for one that no display shows.

    A display shows whole steps d, and a sum of pads is one too: a figure between two steps was
    misread, mistyped, or read on other scales. In the unit of the step it must be a whole number
    of steps; in another unit it may be off by what its last digit rounds.
    """
    if typed is None or not scale_set.division:
        return
    step, value = Fraction(scale_set.division), Fraction(typed.value)
    below = (value // step) * step
    near = below if value - below <= step / 2 else below + step
    own = parse(scale_set.division_typed, Kind.MASS).unit if scale_set.division_typed else ""
    rounding = Fraction(1, 10**PLACES) if typed.unit == own else Fraction(typed.resolution) / 2
    if abs(value - near) <= rounding:
        return
    unit = own or typed.unit
    by, low, high = (
        tell(rounded(one), Kind.MASS, unit=unit).text for one in (step, below, below + step)
    )
    raise Invalid(
        field,
        f"{typed.text} is no figure of {scale_set}, whose display steps by {by}: the nearest it "
        f"shows are {low} and {high}. Read it again.",
    )
