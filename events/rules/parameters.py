"""A rule's parameters: declared once, read from JSON and written back, asked for in a form.

Quantities are exact decimals in canonical units and stand in JSON as text, so that 340 lb comes
back as 340 lb. `asked(...)` is the metadata of a dataclass field, and says what a class may
sensibly ask for; `least` and `most` are that of the two ends of a band.
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
    """A parameter that makes no rule.

    `parameter` names it; `problem` says the fix, and reads on from its label: 'Minimum' 'must be
    from 100 lb to 1500 lb, not 1 lb'.
    """

    def __init__(self, parameter: str, problem: str) -> None:
        super().__init__(f"{parameter}: {problem}")
        self.parameter = parameter
        self.problem = problem


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a parameter may sensibly be, both ends included, in canonical units or whole numbers.

    `apart`: how far the end of a band must stand off the other end, so that a tool can tell the
    car that meets it from the cars on either side.
    """

    low: Decimal
    high: Decimal
    apart: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Parameter:
    """How a parameter is asked for: its label, what sort of answer it takes, and from what."""

    label: str
    sort: Sort
    quantity: Kind | None = None
    choices: tuple[str, ...] = ()
    bounds: Bounds | None = None
    longest: int = LONGEST_TEXT
    help: str = ""


def asked(label: str, sort: Sort, **more: Any) -> dict[str, Parameter]:
    """The metadata of a dataclass field that is a parameter; `more` as `Parameter` names it."""
    return {"parameter": Parameter(label, sort, **more)}


def least(kind: Kind, bounds: Bounds) -> dict[str, Parameter]:
    """The metadata of the lower end of a band of a quantity."""
    return asked("Least", "quantity", quantity=kind, bounds=bounds)


def most(kind: Kind, bounds: Bounds) -> dict[str, Parameter]:
    """The metadata of its upper end."""
    return asked("Most", "quantity", quantity=kind, bounds=bounds)


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
            raise ParameterError(str(name), "is no parameter of this kind of rule")
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
    return _text(name, raw, parameter.longest)


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


def _text(name: str, raw: object, longest: int) -> str:
    if not isinstance(raw, str) or len(raw) > longest:
        raise ParameterError(name, f"must be text of at most {longest} letters")
    return raw.strip()
