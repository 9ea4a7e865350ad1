"""A rule's parameters: declared once, read from JSON and written back, asked for in a form.

Quantities are exact decimals in canonical units and stand in JSON as text, so that 340 lb comes
back as 340 lb.
"""

from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass
from decimal import Decimal, InvalidOperation
from typing import Any, Literal

from clubsetup.quantities.kinds import Kind

Sort = Literal["quantity", "whole", "choice", "yes_no", "text"]

LONGEST_TEXT = 60
LARGEST = Decimal(10) ** 6


class ParameterError(ValueError):
    """A parameter that makes no rule; `parameter` names it, `problem` is for the person."""

    def __init__(self, parameter: str, problem: str) -> None:
        super().__init__(f"{parameter}: {problem}")
        self.parameter = parameter
        self.problem = problem


@dataclass(frozen=True, slots=True)
class Parameter:
    """How a parameter is asked for: its label, what sort of answer it takes, and from what."""

    label: str
    sort: Sort
    quantity: Kind | None = None
    choices: tuple[str, ...] = ()


def asked(
    label: str, sort: Sort, *, quantity: Kind | None = None, choices: tuple[str, ...] = ()
) -> dict[str, Parameter]:
    """The metadata of a dataclass field that is a parameter."""
    return {"parameter": Parameter(label, sort, quantity, choices)}


def described(one: "Field[Any]") -> Parameter:
    """The `Parameter` that a field carries."""
    parameter = one.metadata["parameter"]
    assert isinstance(parameter, Parameter)  # noqa: S101 - tells the type checker
    return parameter


def read(fields: tuple["Field[Any]", ...], given: Mapping[str, object]) -> dict[str, Any]:
    """Values for the fields from a JSON object; an absent or null optional takes its default.

    Raises ParameterError naming the parameter that is unknown, missing or of the wrong sort.
    """
    names = {one.name for one in fields}
    for name in given:
        if name not in names:
            raise ParameterError(str(name), "this kind of rule has no such parameter")
    values: dict[str, Any] = {}
    for one in fields:
        raw = given.get(one.name)
        if raw is not None:
            values[one.name] = _read_one(one.name, described(one), raw)
        elif one.default is MISSING:
            raise ParameterError(one.name, "is needed")
    return values


def written(value: object) -> object:
    """A parameter's value as JSON holds it."""
    return format(value, "f") if isinstance(value, Decimal) else value


def positive(name: str, value: Decimal | int | None) -> None:
    """Refuse a number of zero or less, by ParameterError."""
    if value is not None and value <= 0:
        raise ParameterError(name, "must be more than zero")


def in_order(low: Decimal | int | None, high: Decimal | int | None) -> None:
    """Refuse a band of `at_least` and `at_most` that is empty or not there, by ParameterError."""
    if low is None and high is None:
        raise ParameterError("at_least", "give a least, a most, or both")
    if low is not None and high is not None and low > high:
        raise ParameterError("at_most", "must not be below the least")


def one_of(name: str, value: str, choices: tuple[str, ...]) -> None:
    """Refuse a value that is none of the choices, by ParameterError."""
    if value not in choices:
        raise ParameterError(name, f"must be one of {', '.join(c for c in choices if c)}")


def _read_one(name: str, parameter: Parameter, raw: object) -> object:
    if parameter.sort == "quantity":
        return _decimal(name, raw)
    if parameter.sort == "whole":
        return _whole(name, raw)
    if parameter.sort == "yes_no":
        return _yes_no(name, raw)
    return _text(name, raw)


def _decimal(name: str, raw: object) -> Decimal:
    if isinstance(raw, bool) or not isinstance(raw, (str, int, float, Decimal)):
        raise ParameterError(name, f"must be a number, not {raw!r}")
    try:
        number = Decimal(str(raw))
    except InvalidOperation:
        raise ParameterError(name, f"must be a number, not {raw!r}") from None
    if not number.is_finite() or abs(number) > LARGEST:
        raise ParameterError(name, f"must be a number of a size a car has, not {raw!r}")
    return number


def _whole(name: str, raw: object) -> int:
    number = _decimal(name, raw)
    if number != number.to_integral_value():
        raise ParameterError(name, f"must be a whole number, not {raw!r}")
    return int(number)


def _yes_no(name: str, raw: object) -> bool:
    if not isinstance(raw, bool):
        raise ParameterError(name, f"must be true or false, not {raw!r}")
    return raw


def _text(name: str, raw: object) -> str:
    if not isinstance(raw, str) or len(raw) > LONGEST_TEXT:
        raise ParameterError(name, f"must be text of at most {LONGEST_TEXT} letters")
    return raw.strip()
