"""A quantity held against what it can be, for actions that anybody may call."""

from clubsetup.access.errors import Invalid
from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits, Typed, hold


def refuse_outside(field: str, typed: Typed, kind: Kind, limits: QuantityLimits) -> None:
    """Raises Invalid for `field`, in the unit typed, where the quantity is outside its limits."""
    try:
        hold(typed, kind, limits)
    except QuantityError as refusal:
        raise Invalid(field, refusal.message) from refusal
