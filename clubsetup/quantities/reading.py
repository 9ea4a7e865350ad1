"""From what a person types to an exact value: `parse`."""

from dataclasses import dataclass
from decimal import Context, Decimal

from clubsetup.quantities.errors import QuantityError, Refusal, quoted
from clubsetup.quantities.kinds import LARGEST, Kind, Unit, rounded
from clubsetup.quantities.spelling import LONGEST, Number, Part, Phrase, split, tidy
from clubsetup.quantities.table import COMPOUNDS, SPOKEN, UNITS, unit_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

__all__ = ["Limits", "QuantityError", "Typed", "parse"]

_FINE = Context(prec=28)
_IMPERIAL = Units.imperial()
_ABSOLUTE_ZERO = Decimal("-273.15")  # degrees Celsius, by definition


@dataclass(frozen=True, slots=True)
class Limits:
    """The least and the most a measure can sensibly be, canonical; None where it is open."""

    low: Decimal | None = None
    high: Decimal | None = None
    name: str = ""


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


def parse(
    text: str,
    kind: Kind,
    *,
    units: Units = _IMPERIAL,
    limits: Limits | None = None,
    tool_resolution: Decimal | None = None,
) -> Typed:
    """The quantity that `text` says, in the kind's canonical unit.

    `units` says which unit is meant where none is typed. The value is exact for a length in any
    unit and for a mass in kilograms, grams or pounds, and rounded at the tenth digit otherwise.

    The resolution is what the writing itself resolves: one part of the fraction (46 5/16 and
    3/16: a sixteenth), one of the last digit (3.10: a hundredth), one whole unit (46). A fraction
    is taken as written, so 46 1/2 resolves half an inch; a measure that knows its tool says so in
    `tool_resolution` (canonical), which then stands instead.

    Raises QuantityError, and for no text anything else; ValueError where `tool_resolution` is
    not positive.
    """
    if tool_resolution is not None and not (tool_resolution.is_finite() and tool_resolution > 0):
        raise ValueError(f"a tool cannot resolve {tool_resolution}")
    typed = text.strip()
    try:
        return _read(typed, kind, units, limits, tool_resolution)
    except Refusal as refusal:
        raise QuantityError(str(refusal), typed) from None


def _read(
    typed: str, kind: Kind, units: Units, limits: Limits | None, tool: Decimal | None
) -> Typed:
    if len(typed) > LONGEST:
        raise Refusal(f"This is too long for {_spoken(kind)}.")
    phrase = split(tidy(typed))
    preferred = unit_of(kind, units.for_kind(kind))
    number, unit, told = _number(phrase, kind, preferred)
    value = unit.to_canonical(-number.value if phrase.negative else number.value)
    bare = not any(part.word for part in phrase.parts)
    _refuse_size(value, kind, unit, limits, assumed=bare)
    resolution = tool if tool is not None else rounded(number.step * unit.factor)
    return Typed(value=value, text=typed, unit=told, resolution=resolution)


def _spoken(kind: Kind) -> str:
    spoken = SPOKEN[kind]
    return f"{spoken.name}. Write it as {spoken.example}"


def _number(phrase: Phrase, kind: Kind, preferred: Unit) -> tuple[Number, Unit, str]:
    """What is written, unsigned; the unit it counts; the unit to name. Raises Refusal."""
    first, *rest = phrase.parts
    if rest and not first.word:
        raise Refusal(
            f"{quoted(first.text)} and {quoted(rest[0].text)} are two numbers. "
            "Write a fraction with its slash, as in 46 5/16."
        )
    unit = _unit(first, kind, preferred)
    if not rest:
        return _checked(first, unit, kind), unit, unit.name
    return _compound(first, unit, rest[0], kind)


def _unit(part: Part, kind: Kind, preferred: Unit) -> Unit:
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


def _compound(first: Part, large: Unit, second: Part, kind: Kind) -> tuple[Number, Unit, str]:
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


def _checked(part: Part, unit: Unit, kind: Kind) -> Number:
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
        raise Refusal(
            f"{quoted(part.text)} is not divided in the usual parts. "
            f"Write a fraction of {allowed}, or a decimal."
        )
    return number


def _too_fine(part: Part, unit: Unit, kind: Kind) -> str:
    if unit.places == 0:
        return f"{quoted(part.text)} is not a whole number. This is {_spoken(kind)}."
    return (
        f"{quoted(part.text)} has more digits than can be kept exactly. "
        f"Write at most {unit.places} after the decimal point."
    )


def _refuse_size(
    value: Decimal, kind: Kind, unit: Unit, limits: Limits | None, *, assumed: bool
) -> None:
    if value.copy_abs() >= LARGEST:
        raise Refusal(f"That is far too large for {_spoken(kind)}.")
    if kind is Kind.TEMPERATURE and value < _ABSOLUTE_ZERO:
        raise Refusal("Nothing is colder than -459.67 °F (-273.15 °C).")
    if limits is None:
        return
    low = limits.low is not None and value < limits.low
    high = limits.high is not None and value > limits.high
    if low or high:
        raise Refusal(_outside(value, kind, unit, limits, assumed=assumed))


def _outside(value: Decimal, kind: Kind, unit: Unit, limits: Limits, *, assumed: bool) -> str:
    def written(amount: Decimal) -> str:
        return str(show(amount, kind, unit=unit.name))

    what = limits.name or SPOKEN[kind].name
    if limits.low is None or limits.high is None:
        edge = limits.low if limits.high is None else limits.high
        word = "less" if limits.high is None else "more"
        span = f"never {word} than {written(edge)}" if edge is not None else ""
    else:
        span = f"between {written(limits.low)} and {written(limits.high)}"
    taken = f" No unit was typed, so{unit.suffix} was taken." if assumed and unit.suffix else ""
    return f"{written(value)} cannot be right: {what} is {span}.{taken} Check figure and unit."
