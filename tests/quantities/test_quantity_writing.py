"""How values are written, and whether the writing says when it is only near."""

import decimal
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from clubsetup.quantities.kinds import Kind, rounded
from clubsetup.quantities.writing import show

# Canonical value, kind, how it is asked for, what is written. By hand: 25.4 mm to the inch.
WRITTEN = [
    ("1176.3375", Kind.LENGTH, {"unit": "in"}, "46 5/16 in"),
    ("1176.3375", Kind.LENGTH, {"unit": "in", "style": "fraction"}, "46 5/16 in"),
    ("1176.3375", Kind.LENGTH, {"unit": "in", "style": "decimal"}, "46.3125 in"),
    ("1176.3375", Kind.LENGTH, {"unit": "in", "places": 2}, "about 46.31 in"),
    ("1176.3375", Kind.LENGTH, {"unit": "in", "places": 2, "style": "fraction"}, "46 5/16 in"),
    ("1176.3375", Kind.LENGTH, {"unit": "in", "places": 5}, "46.31250 in"),
    ("1176.3375", Kind.LENGTH, {"unit": "mm"}, "1176.3375 mm"),
    ("1176.3375", Kind.LENGTH, {"unit": "mm", "places": 1}, "about 1176.3 mm"),
    ("1176.3375", Kind.LENGTH, {"unit": "mm", "style": "fraction"}, "1176.3375 mm"),
    ("1181", Kind.LENGTH, {"unit": "in"}, "about 46 1/2 in"),
    ("1181", Kind.LENGTH, {"unit": "in", "denominator": 32}, "about 46 1/2 in"),
    ("1181", Kind.LENGTH, {"unit": "in", "style": "decimal"}, "about 46.496 in"),
    ("1181", Kind.LENGTH, {"unit": "cm"}, "118.1 cm"),
    ("1181", Kind.LENGTH, {"unit": "cm", "style": "fraction", "places": 0}, "about 118 cm"),
    ("78.74", Kind.LENGTH, {"unit": "in"}, "3.1 in"),
    ("78.74", Kind.LENGTH, {"unit": "in", "style": "fraction"}, "about 3 1/8 in"),
    ("0.79375", Kind.LENGTH, {"unit": "in"}, "1/32 in"),
    ("0.79375", Kind.LENGTH, {"unit": "in", "style": "fraction"}, "about 0 in"),
    ("2.38125", Kind.LENGTH, {"unit": "in", "style": "fraction"}, "about 1/8 in"),
    ("0.79375", Kind.LENGTH, {"unit": "in", "style": "fraction", "denominator": 32}, "1/32 in"),
    ("-1.5875", Kind.LENGTH, {"unit": "in"}, "-1/16 in"),
    ("-57.15", Kind.LENGTH, {"unit": "in"}, "-2 1/4 in"),
    ("-57.15", Kind.LENGTH, {"unit": "in", "style": "decimal"}, "-2.25 in"),
    ("-0.1", Kind.LENGTH, {"unit": "in", "style": "fraction"}, "about 0 in"),
    ("-0.01", Kind.LENGTH, {"unit": "mm", "places": 1}, "about 0.0 mm"),
    ("-12.7", Kind.LENGTH, {"unit": "in"}, "-1/2 in"),
    ("0", Kind.LENGTH, {"unit": "in"}, "0 in"),
    ("3.175", Kind.LENGTH, {"unit": "in", "sign": True}, "+1/8 in"),
    ("-3.175", Kind.LENGTH, {"unit": "in", "sign": True}, "-1/8 in"),
    ("0", Kind.LENGTH, {"unit": "in", "sign": True}, "0 in"),
    ("0.1", Kind.LENGTH, {"unit": "in", "sign": True, "style": "fraction"}, "about 0 in"),
    ("1371.6", Kind.LENGTH, {"unit": "ft"}, "4 1/2 ft"),
    ("144.24237366", Kind.MASS, {"unit": "lb"}, "318 lb"),
    ("144.24237366", Kind.MASS, {"unit": "kg"}, "about 144.24 kg"),
    ("144.24237366", Kind.MASS, {"unit": "kg", "places": 1}, "about 144.2 kg"),
    ("144", Kind.MASS, {"unit": "lb"}, "about 317.5 lb"),
    ("144", Kind.MASS, {"unit": "kg", "places": 1}, "144.0 kg"),
    ("1.0205828325", Kind.MASS, {"unit": "lb", "style": "fraction"}, "2 1/4 lb"),
    ("0.0283495231", Kind.MASS, {"unit": "oz"}, "1 oz"),
    ("75.8423302249", Kind.PRESSURE, {"unit": "psi"}, "11 psi"),
    ("75.8423302249", Kind.PRESSURE, {"unit": "bar"}, "about 0.76 bar"),
    ("75", Kind.PRESSURE, {"unit": "psi"}, "about 10.9 psi"),
    ("19.2639518771", Kind.SPRING_RATE, {"unit": "lb/in"}, "110 lb/in"),
    ("2", Kind.ANGLE, {"unit": "deg"}, "2°"),
    ("-2.5", Kind.ANGLE, {"unit": "deg"}, "-2.5°"),
    ("15", Kind.TEMPERATURE, {"unit": "degF"}, "59 °F"),
    ("0", Kind.TEMPERATURE, {"unit": "degF"}, "32 °F"),
    ("-273.15", Kind.TEMPERATURE, {"unit": "K"}, "0 K"),
    ("5", Kind.TEMPERATURE, {"unit": "degF", "delta": True, "sign": True}, "+9 °F"),
    ("-5", Kind.TEMPERATURE, {"unit": "degC", "delta": True}, "-5 °C"),
    ("0.3333333333", Kind.TURNS, {"unit": "turn"}, "1/3 turn"),
    ("0.3958333333", Kind.TURNS, {"unit": "turn"}, "about 3/8 turn"),  # 19/48 is not customary
    ("1.25", Kind.TURNS, {"unit": "turn"}, "1 1/4 turns"),
    ("-0.5", Kind.TURNS, {"unit": "turn", "sign": True}, "-1/2 turn"),
    ("0", Kind.TURNS, {"unit": "turn"}, "0 turns"),
    ("0.5", Kind.TURNS, {"unit": "flat"}, "3 flats"),
    ("1.1", Kind.TURNS, {"unit": "turn", "style": "fraction", "denominator": 4}, "about 1 turn"),
    ("51.49", Kind.PERCENT, {"unit": "%", "places": 1}, "about 51.5%"),
    ("12", Kind.COUNT, {"unit": "1"}, "12"),
    ("55", Kind.HARDNESS, {"unit": "points"}, "55 points"),
]


@pytest.mark.parametrize(("value", "kind", "asked", "text"), WRITTEN)
def test_values_are_written_as_people_write_them(
    value: str, kind: Kind, asked: dict[str, Any], text: str
) -> None:
    assert str(show(Decimal(value), kind, **asked)) == text


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [("0.5", 0, "0"), ("1.5", 0, "2"), ("2.5", 0, "2"), ("0.25", 1, "0.2"), ("0.35", 1, "0.4")],
)
def test_decimals_are_rounded_half_to_even(value: str, places: int, text: str) -> None:
    for sign in ("", "-"):
        shown = show(Decimal(sign + value), Kind.PERCENT, unit="%", places=places)
        assert shown.bare == (text if text == "0" else sign + text)


class TestRemainder:
    def test_it_is_what_the_writing_leaves_out(self) -> None:
        shown = show(Decimal("1181"), Kind.LENGTH, unit="in")
        # 46 1/2 in is 1181.1 mm.
        assert shown.remainder == Decimal("-0.1")
        assert not shown.exact

    def test_it_is_nothing_where_the_writing_is_exact(self) -> None:
        shown = show(Decimal("1176.3375"), Kind.LENGTH, unit="in")
        assert shown.remainder == 0
        assert shown.exact

    def test_it_is_a_difference_for_temperatures_too(self) -> None:
        # 15.1 degC is 59.18 degF; 59 degF is 15 degC.
        shown = show(Decimal("15.1"), Kind.TEMPERATURE, unit="degF", places=0)
        assert (shown.text, shown.remainder) == ("59 °F", Decimal("0.1"))


class TestParts:
    def test_the_number_stands_alone_without_its_unit(self) -> None:
        shown = show(Decimal("1181"), Kind.LENGTH, unit="in")
        assert (shown.bare, shown.suffix, shown.text) == ("46 1/2", " in", "46 1/2 in")

    def test_pages_may_have_a_real_minus_and_fraction_slash(self) -> None:
        assert show(Decimal("-57.15"), Kind.LENGTH, unit="in").pretty == "−2 1/4 in"

    def test_the_slash_of_a_unit_stays(self) -> None:
        shown = show(Decimal("-19.3"), Kind.SPRING_RATE, unit="N/mm")
        assert shown.pretty == "−19.3 N/mm"


class TestRefused:
    @pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity", "1E+10", "-1E+999999"])
    def test_values_that_could_not_have_been_kept(self, value: str) -> None:
        with pytest.raises(ValueError, match="is not a value that can be kept"):
            show(Decimal(value), Kind.LENGTH, unit="in")

    def test_units_of_another_kind(self) -> None:
        with pytest.raises(ValueError, match="'psi' is not a unit of length"):
            show(Decimal(1), Kind.LENGTH, unit="psi")

    @pytest.mark.parametrize("places", [-1, 11])
    def test_more_places_than_are_kept(self, places: int) -> None:
        with pytest.raises(ValueError, match="is not written with"):
            show(Decimal(1), Kind.LENGTH, unit="in", places=places)

    @pytest.mark.parametrize("denominator", [3, 10, 0, -2])
    def test_fractions_that_are_not_on_a_tape(self, denominator: int) -> None:
        with pytest.raises(ValueError, match="is not a fraction written with in"):
            show(Decimal(1), Kind.LENGTH, unit="in", denominator=denominator)


def test_a_computed_value_is_taken_to_the_tenth_digit() -> None:
    shown = show(Decimal(25.4), Kind.LENGTH, unit="in")  # noqa: RUF032 (a float's every digit)
    assert (str(shown), shown.remainder) == ("1 in", Decimal(0))


def test_a_vanishing_value_is_nothing() -> None:
    assert str(show(Decimal("1E-999"), Kind.LENGTH, unit="mm")) == "0 mm"


def test_the_callers_decimal_context_changes_nothing() -> None:
    value = Decimal("1176.3375120001")
    wanted = show(value, Kind.LENGTH, unit="mm", places=2)
    with decimal.localcontext() as context:
        context.prec = 2
        context.rounding = decimal.ROUND_UP
        assert show(value, Kind.LENGTH, unit="mm", places=2) == wanted
    assert wanted.remainder == Decimal("-0.0024879999")


@pytest.mark.parametrize(
    ("exact", "text"),
    [
        ("100.50", "100.5"),
        ("100", "100"),
        ("0", "0"),
        ("1/3", "0.3333333333"),
        ("-2/3", "-0.6666666667"),
    ],
)
def test_a_kept_value_has_no_trailing_zeros_and_no_exponent(exact: str, text: str) -> None:
    assert str(rounded(Fraction(exact))) == text
