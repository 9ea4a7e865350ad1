"""What holds for every text, right or wrong. Shared by the tests and by the long run."""

from decimal import Decimal

from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.kinds import DIGITS, PLACES, Kind
from clubsetup.quantities.reading import Typed, parse
from clubsetup.quantities.spelling import split, tidy
from clubsetup.quantities.table import UNITS
from clubsetup.quantities.writing import show


def fits_the_column(value: Decimal) -> bool:
    """Whether numeric(DIGITS, PLACES) keeps the value unchanged."""
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int), "no number"
    return -PLACES <= exponent <= 0 and abs(value) < 10 ** (DIGITS - PLACES)


def check(text: str, kind: Kind) -> Typed | None:
    """The text read, or None where it is refused as it should be; AssertionError otherwise.

    Any other exception than QuantityError is let through, and is a failure.
    """
    try:
        typed = parse(text, kind)
    except QuantityError as error:
        refused = error
    else:
        _check_read(typed, kind)
        return typed
    assert refused.text == text.strip()
    assert 10 < len(refused.message) < 220, refused.message
    assert refused.message.isprintable()
    return None


def _check_read(typed: Typed, kind: Kind) -> None:
    assert fits_the_column(typed.value), typed
    assert fits_the_column(typed.resolution), typed
    assert typed.resolution > 0, typed
    assert typed.unit in UNITS[kind], typed
    shown = show(typed.value, kind, unit=typed.unit)
    again = parse(shown.text, kind)
    if shown.exact:
        assert again.value == typed.value, (typed, shown)
    else:  # an odd ounce is no hundredth of a pound, an odd minute no millionth of a degree
        assert len(split(tidy(typed.text)).parts) == 2, (typed, shown)
        assert typed.unit in ("lb", "deg"), (typed, shown)
        assert again.value + shown.remainder == typed.value, (typed, shown)
