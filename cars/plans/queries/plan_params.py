"""What somebody asks a plan for, as an address or a form says it."""

from collections.abc import Mapping
from decimal import Decimal

from cars.mechanics import CORNER_NAMES
from clubsetup.access.errors import Invalid
from clubsetup.site.readable_text import plain_decimal


def wanted_cross(given: Mapping[str, str]) -> float | None:
    """The cross that an address asks for, percent; what is no cross is left out."""
    number = _decimal(given.get("cross", ""))
    return float(number) if number is not None and 30 <= number <= 75 else None


def sent_turns(given: Mapping[str, str]) -> list[Decimal]:
    """Four turns, as one field `turns` or one for each corner. Raises Invalid."""
    if together := given.get("turns", ""):
        texts = together.split(",")
    else:
        texts = [given.get(corner, "") or "0" for corner in CORNER_NAMES]
    turns = [_decimal(text) for text in texts]
    known = [turn for turn in turns if turn is not None]
    if len(known) < len(turns) or len(turns) != len(CORNER_NAMES):
        raise Invalid("turns", "Give a number of turns for each corner.")
    return known


def _decimal(text: str) -> Decimal | None:
    number = plain_decimal(text)
    return round(number, 4) if number is not None and abs(number) < 1000 else None
