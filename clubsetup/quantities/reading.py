"""From what a person types to an exact value: `parse`."""

from dataclasses import dataclass
from decimal import Context, Decimal
from typing import NamedTuple

from clubsetup.quantities.errors import QuantityError, Refusal, quoted
from clubsetup.quantities.kinds import LARGEST, Kind, Unit, decimal_of_steps
from clubsetup.quantities.spelling import LONGEST, Number, SpelledPart, split, tidy
from clubsetup.quantities.table import COMPOUNDS, SPOKEN, UNITS, unit_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import tell

__all__ = ["QuantityError", "QuantityLimits", "Typed", "parse"]

_FINE = Context(prec=28)
_IMPERIAL = Units.imperial()
_ABSOLUTE_ZERO = Decimal("-273.15")  # degrees Celsius, by definition


@dataclass(frozen=True, slots=True)
class QuantityLimits:
    """The least and the most a measure can sensibly be, canonical; None where it is open."""

    low: Decimal | None = None
    high: Decimal | None = None
    name: str = ""


def within(value: Decimal, limits: QuantityLimits) -> bool:
    """Whether a canonical value lies in its limits or on their edge."""
    low, high = limits.low, limits.high
    return (low is None or value >= low) and (high is None or value <= high)


@dataclass(frozen=True, slots=True)
class Typed:
    """A quantity as somebody typed it."""

    value: Decimal  # canonical
    text: str  # as typed, without the spaces around it
    unit: str  # the unit typed, or the preferred one; of two, the one that can stand alone
    resolution: Decimal  # canonical

    @property
    def u(self) -> Decimal:
        """Standard uncertainty of the resolution alone, canonical: resolution / (2 sqrt 3).

        Rectangular over one step of the tool (JCGM 100:2008, 4.3.7).
        """
        return _FINE.divide(self.resolution, _FINE.sqrt(Decimal(12)))


class _Read(NamedTuple):
    """A number as it is written."""

    number: Number  # with its sign
    unit: Unit  # that it counts
    unit_name: str  # the unit to name; of two, the one that can stand alone
    assumed: bool  # no unit was typed


def parse(
    text: str,
    kind: Kind,
    *,
    units: Units = _IMPERIAL,
    limits: QuantityLimits | None = None,
    tool_resolution: Decimal | None = None,
    delta: bool = False,
) -> Typed:
    """The quantity that `text` says, in the kind's canonical unit.

    `units` says which unit is meant where none is typed. The value is exact for a length in any
    unit and for a mass in kilograms, grams or pounds, and rounded at the tenth digit otherwise.

    The resolution is what the writing itself resolves: one part of the fraction (46 5/16 and
    3/16: a sixteenth), one of the last digit (3.10: a hundredth), one whole unit (46). A fraction
    is taken as written, so 46 1/2 resolves half an inch; a measure that knows its tool says so in
    `tool_resolution` (canonical), which then stands instead.

    `delta` says that a difference of two values is typed, a tolerance say, so that 9 °F is
    5 degrees Celsius and not -12.8.

    Raises QuantityError, and for no text anything else; ValueError where `tool_resolution` is
    not positive.
    """
    if tool_resolution is not None and not (tool_resolution.is_finite() and tool_resolution > 0):
        raise ValueError(f"a tool cannot resolve {tool_resolution}")
    typed = text.strip()
    try:
        number, unit, unit_name, assumed = _number(typed, kind, units)
        value = decimal_of_steps(
            unit.steps(number.value.numerator, number.value.denominator, delta=delta)
        )
        _refuse_size(value, kind, delta=delta)
        if limits is not None:
            _refuse_outside(value, kind, unit, limits, delta=delta, assumed=assumed)
    except Refusal as refusal:
        raise QuantityError(str(refusal), typed) from None
    resolution = tool_resolution or decimal_of_steps(
        unit.steps(number.step.numerator, number.step.denominator, delta=True)
    )
    return Typed(value=value, text=typed, unit=unit_name, resolution=resolution)


def hold(typed: Typed, kind: Kind, limits: QuantityLimits) -> None:
    """Raises QuantityError, as `parse` would, for what was typed outside its limits."""
    try:
        unit = unit_of(kind, typed.unit)
        _refuse_outside(typed.value, kind, unit, limits, delta=False, assumed=False)
    except Refusal as refusal:
        raise QuantityError(str(refusal), typed.text) from None


def _spoken(kind: Kind) -> str:
    spoken = SPOKEN[kind]
    return f"{spoken.name}. Write it as {spoken.example}"


def _number(typed: str, kind: Kind, units: Units) -> _Read:
    """What is written, and the units it is written in. Raises Refusal."""
    if len(typed) > LONGEST:
        raise Refusal(f"This is too long for {_spoken(kind)}.")
    phrase = split(tidy(typed))
    first, *rest = phrase.parts
    if rest and not first.word:
        raise Refusal(
            f"{quoted(first.text)} and {quoted(rest[0].text)} are two numbers. "
            "Write a fraction with its slash, as in 46 5/16."
        )
    unit = _unit(first, kind, unit_of(kind, units.for_kind(kind)))
    in_words = not any(char.isdigit() for char in typed)
    if kind == Kind.VOLUME and in_words and not first.word and first.number.value < 1:
        raise Refusal(
            f"{quoted(typed)} may be of the tank or of a {unit.name}. "
            f"Write the amount with its unit, as in 1 1/2 {unit.name}."
        )
    if rest:
        number, unit, unit_name = _compound(first, unit, rest[0], kind)
    else:
        number, unit_name = _checked(first, unit, kind), unit.name
    if phrase.negative:
        number = number._replace(value=-number.value)
    return _Read(number, unit, unit_name, assumed=not first.word)


def _unit(part: SpelledPart, kind: Kind, preferred: Unit) -> Unit:
    """The unit that a part's word means; the preferred one where words or their lack fit it."""
    if not part.word or part.word in preferred.spellings:
        return preferred
    for unit in UNITS[kind].values():
        if part.word in unit.spellings:
            return unit
    raise Refusal(_wrong_unit(part.word, kind))


def _wrong_unit(word: str, kind: Kind) -> str:
    for other, units in UNITS.items():
        if any(word in unit.spellings for unit in units.values()):
            meant = SPOKEN[other].name
            return f"{quoted(word)} is for {meant}, and this is {_spoken(kind)}."
    return f"{quoted(word)} is not a unit known here. This is {_spoken(kind)}."


def _compound(
    first: SpelledPart, large: Unit, second: SpelledPart, kind: Kind
) -> tuple[Number, Unit, str]:
    """Feet with inches, pounds with ounces, degrees with minutes. Raises Refusal."""
    if not second.word:
        raise Refusal(f"Write a unit after {quoted(second.text)} too, as in 4 ft 2 1/2 in.")
    small = _unit(second, kind, large)
    compound = COMPOUNDS.get((large.name, small.name))
    if compound is None:
        raise Refusal(
            f"{quoted(first.text)} and {quoted(second.text)} do not go together. This is "
            f"{_spoken(kind)}."
        )
    if first.number.step != 1:
        raise Refusal(f"Write a whole number before the second one, not {quoted(first.text)}.")
    number = _checked(second, small, kind)
    if number.value >= compound.ratio:
        raise Refusal(f"{quoted(second.text)} is not less than 1{large.suffix}. Carry it over.")
    total = first.number.value * compound.ratio + number.value
    return number._replace(value=total), small, compound.alone


# As an inch tape is divided beyond quarters; no other figure is written so.
_TAPE_PARTS = frozenset({8, 16, 32, 64})


def _checked(part: SpelledPart, unit: Unit, kind: Kind) -> Number:
    """The part's number, if it is written as people write that unit. Raises Refusal."""
    number = part.number
    if number.denominator is None:
        if number.decimals > unit.places:
            raise Refusal(_too_fine(part, unit, kind))
    elif not unit.denominators:
        raise Refusal(
            f"Fractions are not written in {unit.suffix.strip() or 'whole numbers'}. This is "
            f"{_spoken(kind)}."
        )
    elif number.denominator not in unit.denominators:
        allowed = ", ".join(str(bottom) for bottom in unit.denominators)
        if kind is not Kind.LENGTH and number.denominator in _TAPE_PARTS:
            raise Refusal(
                f"{quoted(part.text)} is divided as a length is, and this is {_spoken(kind)}, "
                f"or with a fraction of {allowed}."
            )
        raise Refusal(
            f"{quoted(part.text)} is not divided in the usual parts. "
            f"Write a fraction of {allowed}, or a decimal."
        )
    return number


def _too_fine(part: SpelledPart, unit: Unit, kind: Kind) -> str:
    if unit.places == 0:
        return f"{quoted(part.text)} is not a whole number. This is {_spoken(kind)}."
    return (
        f"{quoted(part.text)} has more digits than can be kept exactly. "
        f"Write at most {unit.places} after the decimal point."
    )


def _refuse_size(value: Decimal, kind: Kind, *, delta: bool) -> None:
    if value.copy_abs() >= LARGEST:
        raise Refusal(f"That is far too large for {_spoken(kind)}.")
    if kind is Kind.TEMPERATURE and value < _ABSOLUTE_ZERO and not delta:
        raise Refusal("Nothing is colder than -459.67 °F (-273.15 °C).")


def _refuse_outside(
    value: Decimal, kind: Kind, unit: Unit, limits: QuantityLimits, *, delta: bool, assumed: bool
) -> None:
    low, high = limits.low, limits.high
    if within(value, limits):
        return

    def written(amount: Decimal | None) -> str:
        return "" if amount is None else str(tell(amount, kind, unit=unit.name, delta=delta))

    if low is None:
        span = f"never more than {written(high)}"
    elif high is None:
        span = f"never less than {written(low)}"
    else:
        span = f"between {written(low)} and {written(high)}"
    taken = f" No unit was typed, so {_taken(unit)} taken." if assumed and unit.suffix else ""
    raise Refusal(
        f"{written(value)} cannot be right: {limits.name or SPOKEN[kind].name} is {span}.{taken} "
        "Check figure and unit."
    )


def _taken(unit: Unit) -> str:
    """'in was', 'degrees were': a unit that is only a sign is said in its word."""
    sign = unit.suffix.strip()
    if any(char.isalpha() for char in sign):
        return f"{sign} was"
    word = unit.spellings[-1]
    return f"{word} were" if word.endswith("s") else f"{word} was"
