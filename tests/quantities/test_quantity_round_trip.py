"""What is written reads back, what is read is exact, and nothing typed ever breaks it."""

from decimal import Decimal
from fractions import Fraction
from itertools import islice
from typing import Any

import pint
from hypothesis import example, given, settings
from hypothesis import strategies as st

from clubsetup.quantities.kinds import LARGEST, PLACES, Kind, Unit, rounded
from clubsetup.quantities.reading import parse
from clubsetup.quantities.table import UNITS
from clubsetup.quantities.writing import Style, show
from tests.examples import examples
from tests.quantities.near_valid import SAMPLES, near_valid
from tests.quantities.promises import check

REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Fraction)
TAPE_TEXTS = ("{whole} {top}/{bottom}", "{whole}-{top}/{bottom}", '{whole} {top}/{bottom}"')
EVERY = tuple((kind, unit) for kind, units in UNITS.items() for unit in units.values())
WITH_FRACTIONS = tuple(pair for pair in EVERY if pair[1].denominators)

pairs = st.sampled_from(EVERY)
fraction_pairs = st.sampled_from(WITH_FRACTIONS)


def most(unit: Unit) -> int:
    """As much of a unit as a test needs, within what is not far too large."""
    return min(99_999, int(Fraction(LARGEST) / 2 / unit.factor))


@st.composite
def typed_decimals(draw: st.DrawFn) -> tuple[Kind, Unit, str]:
    """A kind, one of its units, and a decimal that may be typed in it."""
    kind, unit = draw(pairs)
    digits = draw(st.integers(0, unit.places))
    scaled = draw(st.integers(0, most(unit) * 10**digits))
    minus = "" if kind is Kind.TEMPERATURE else draw(st.sampled_from(["", "-"]))
    number = f"{scaled // 10**digits}.{scaled % 10**digits:0{digits}}" if digits else f"{scaled}"
    return kind, unit, minus + number


@st.composite
def typed_fractions(draw: st.DrawFn) -> tuple[Kind, Unit, str]:
    """A kind, a unit that has fractions, and a number with a fraction that may be typed in it."""
    kind, unit = draw(fraction_pairs)
    bottom = draw(st.sampled_from(unit.denominators))
    whole, top = draw(st.integers(0, most(unit))), draw(st.integers(0, bottom - 1))
    front = f"{whole} " if whole or draw(st.booleans()) else ""
    return kind, unit, draw(st.sampled_from(["", "-"])) + f"{front}{top}/{bottom}"


def value_of(number: str) -> Fraction:
    """The worth of text like -2 1/4, by Python's own reading of its two halves."""
    size = sum((Fraction(piece) for piece in number.lstrip("-").split()), Fraction(0))
    return -size if number.startswith("-") else size


class TestWhatIsReadIsExact:
    @given(
        whole=st.integers(1, 9999),
        bottom=st.sampled_from([2, 4, 8, 16, 32, 64]),
        data=st.data(),
        form=st.sampled_from(TAPE_TEXTS),
        minus=st.booleans(),
    )
    def test_a_tape_reading_is_so_many_sixty_fourths_of_an_inch(
        self, whole: int, bottom: int, data: st.DataObject, form: str, minus: bool
    ) -> None:
        top = data.draw(st.integers(0, bottom - 1))
        text = "-" * minus + form.format(whole=whole, top=top, bottom=bottom)
        sixty_fourths = (whole * bottom + top) * (64 // bottom)
        # One sixty-fourth of an inch is 0.396875 mm exactly.
        wanted = Decimal(sixty_fourths) * Decimal("0.396875")
        assert parse(text, Kind.LENGTH).value == (-wanted if minus else wanted)

    @given(typed=typed_decimals())
    def test_a_decimal_in_any_unit_is_the_table_value_to_half_of_the_tenth_digit(
        self, typed: tuple[Kind, Unit, str]
    ) -> None:
        kind, unit, number = typed
        exact = (Fraction(number) + unit.offset) * unit.factor
        read = parse(number + unit.suffix, kind)
        assert read.unit == unit.name
        assert abs(Fraction(read.value) - exact) <= Fraction(1, 2 * 10**PLACES)
        if kind is Kind.LENGTH or unit.name in ("lb", "kg", "g"):
            assert Fraction(read.value) == exact

    @given(scaled=st.integers(-(10**6), 10**6))
    def test_pounds_are_what_pint_says_they_are(self, scaled: int) -> None:
        pounds = Fraction(scaled, 100)
        exact = REGISTRY.Quantity(pounds, "pound").to("kilogram").magnitude
        text = f"{'-' * (scaled < 0)}{abs(scaled) // 100}.{abs(scaled) % 100:02} lb"
        assert Fraction(parse(text, Kind.MASS).value) == exact

    @given(feet=st.integers(0, 999), halves=st.integers(0, 23))
    def test_feet_and_inches_are_the_same_as_inches_alone(self, feet: int, halves: int) -> None:
        inches = f"{halves // 2} {halves % 2}/2 in"
        together = parse(f"{feet} ft {inches}", Kind.LENGTH).value
        assert together == feet * Decimal("304.8") + parse(inches, Kind.LENGTH).value

    @given(pounds=st.integers(0, 999), ounces=st.integers(0, 15))
    def test_pounds_and_ounces_weigh_as_much_as_all_the_ounces(
        self, pounds: int, ounces: int
    ) -> None:
        together = parse(f"{pounds} lb {ounces} oz", Kind.MASS).value
        assert together == parse(f"{16 * pounds + ounces} oz", Kind.MASS).value


class TestWhatIsWrittenReadsBack:
    @given(typed=st.one_of(typed_decimals(), typed_fractions()))
    def test_what_could_be_typed_is_written_exactly_and_reads_back(
        self, typed: tuple[Kind, Unit, str]
    ) -> None:
        kind, unit, number = typed
        value = parse(number + unit.suffix, kind).value
        shown = show(value, kind, unit=unit.name)
        assert shown.exact
        assert parse(shown.text, kind).value == value

    @given(typed=typed_fractions())
    def test_a_fraction_is_written_as_that_fraction(self, typed: tuple[Kind, Unit, str]) -> None:
        kind, unit, number = typed
        bottom = int(number.rpartition("/")[2])
        value = parse(number + unit.suffix, kind).value
        shown = show(value, kind, unit=unit.name, style="fraction", denominator=bottom)
        assert shown.exact
        assert value_of(shown.bare) == value_of(number)
        assert parse(shown.text, kind).value == value

    @given(
        pair=pairs,
        scaled=st.integers(-(10**15), 10**15),
        style=st.sampled_from([None, "fraction", "decimal"]),
        places=st.one_of(st.none(), st.integers(0, 2)),
        sign=st.booleans(),
        finest=st.booleans(),
        pretty=st.booleans(),
    )
    @example((Kind.TEMPERATURE, UNITS[Kind.TEMPERATURE]["degF"]), -1, None, None, True, True, True)
    def test_any_value_in_any_writing_is_what_is_read_plus_the_remainder(
        self,
        pair: tuple[Kind, Unit],
        scaled: int,
        style: Style | None,
        places: int | None,
        sign: bool,
        finest: bool,
        pretty: bool,
    ) -> None:
        kind, unit = pair
        if kind is Kind.TEMPERATURE:
            scaled = abs(scaled)
        if places is not None:
            places = min(places, unit.places)
        denominator = unit.denominators[-1 if finest else 0] if unit.denominators else 16
        value = rounded(Fraction(scaled, 10**PLACES))
        shown = show(
            value,
            kind,
            unit=unit.name,
            style=style,
            places=places,
            sign=sign,
            denominator=denominator,
        )
        read = parse(shown.pretty if pretty else shown.text, kind).value
        assert read + shown.remainder == value
        assert shown.exact == (read == value)
        assert str(shown).startswith("about ") != shown.exact
        assert abs(Fraction(shown.remainder)) <= unit.factor / 2 + Fraction(1, 10**PLACES)

    @given(
        scaled=st.integers(-(10**14), 10**14), denominator=st.sampled_from([2, 4, 8, 16, 32, 64])
    )
    def test_the_nearest_fraction_is_at_most_half_a_part_away(
        self, scaled: int, denominator: int
    ) -> None:
        value = rounded(Fraction(scaled, 10**PLACES))
        shown = show(value, Kind.LENGTH, unit="in", style="fraction", denominator=denominator)
        assert abs(Fraction(shown.remainder)) <= Fraction("25.4") / (2 * denominator)
        assert denominator % value_of(shown.bare).denominator == 0

    @given(scaled=st.integers(-(10**14), 10**14), places=st.integers(0, 6))
    def test_decimals_are_those_of_pythons_own_rounding(self, scaled: int, places: int) -> None:
        value = rounded(Fraction(scaled, 10**PLACES))
        shown = show(value, Kind.LENGTH, unit="mm", places=places)
        quantum = Decimal(1).scaleb(-places)
        wanted = value.quantize(quantum, rounding="ROUND_HALF_EVEN")
        assert Decimal(shown.bare) == wanted
        assert len(shown.bare.partition(".")[2]) == places


class TestNothingTypedBreaksIt:
    def test_a_hundred_thousand_strings_are_read_or_refused(self) -> None:
        """Another seed and ten million of them: tests/benchmarks/fuzz_quantities.py."""
        read = sum(check(text, kind) is not None for text, kind in islice(near_valid(7), 100_000))
        assert 5_000 < read < 50_000  # both ways are well trodden

    @settings(max_examples=examples(1000))
    @given(text=st.text(), kind=st.sampled_from(Kind))
    def test_any_text(self, text: str, kind: Kind) -> None:
        check(text, kind)

    @settings(max_examples=examples(1000))
    @given(
        pieces=st.lists(st.sampled_from([*SAMPLES, *"0123456789 /.,-+'\"°½#%"]), max_size=6),
        kind=st.sampled_from(Kind),
    )
    def test_any_chain_of_pieces(self, pieces: list[str], kind: Kind) -> None:
        check("".join(pieces), kind)

    @given(text=st.text(alphabet="0123456789", min_size=1, max_size=5000))
    def test_any_number_of_digits(self, text: str) -> None:
        check(text, Kind.LENGTH)
        check("0." + text, Kind.MASS)
        check(f"1/{text}", Kind.ANGLE)
