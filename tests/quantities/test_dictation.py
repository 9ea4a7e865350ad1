"""Numbers in words, as a phone's dictation writes them."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clubsetup.quantities.dictation import in_digits
from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from clubsetup.quantities.spelling import has_unit
from clubsetup.quantities.units import Units
from tests.examples import examples
from tests.quantities.promises import check

ONES = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
PARTS = {
    2: ("half", "halves"),
    4: ("quarter", "quarters"),
    8: ("eighth", "eighths"),
    16: ("sixteenth", "sixteenths"),
    32: ("thirty-second", "thirty-seconds"),
    64: ("sixty-fourth", "sixty-fourths"),
}
INCH = Decimal("25.4")


def said(number: int, join: str = " ") -> str:
    """A number below a hundred in words."""
    if number < 20:
        return ONES[number]
    return TENS[number // 10 - 2] + (join + ONES[number % 10] if number % 10 else "")


def inches(text: str) -> Fraction:
    return Fraction(parse(text, Kind.LENGTH).value) / Fraction(INCH)


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("46 and 5/16", "46 5/16"),
        ("46 and ½", "46 1/2"),
        ("two and a quarter", "2 1/4"),
        ("Two and a quarter.", "2 1/4"),
        ("2 and three quarters", "2 3/4"),
        ("two and half", "2 1/2"),
        ("five eighths", "5/8"),
        ("half an inch", "1/2 in"),
        ("a quarter of an inch", "1/4 in"),
        ("three quarter inch", "3/4 in"),
        ("46 point 3", "46.3"),
        ("46 point 3.", "46.3"),
        ("forty-six point three one", "46.31"),
        ("point five", "0.5"),
        ("minus one sixteenth", "-1/16"),
        ("-2 and a quarter", "-2 1/4"),
        ("forty six five sixteenths", "46 5/16"),
        ("46 5 sixteenths", "46 5/16"),
        ("a hundred and 5/8", None),
        ("one hundred and five", "105"),
        ("100 and 5/8", "100 5/8"),
        ("four feet two and a half inches", "4 ft 2 1/2 in"),
    ],
)
def test_what_is_heard_is_what_would_be_typed(text: str, written: str | None) -> None:
    if written is None:
        with pytest.raises(QuantityError):
            parse(text, Kind.LENGTH)
        return
    heard, typed = parse(text, Kind.LENGTH), parse(written, Kind.LENGTH)
    assert (heard.value, heard.unit, heard.resolution) == (
        typed.value,
        typed.unit,
        typed.resolution,
    )
    assert heard.text == text


@pytest.mark.parametrize(
    ("text", "kind", "written"),
    [
        ("eleven psi", Kind.PRESSURE, "11 psi"),
        ("nine and three quarters pounds", Kind.MASS, "9 3/4 lb"),
        ("minus two point five degrees", Kind.ANGLE, "-2.5 deg"),
        ("one and a third turns", Kind.TURNS, "1 1/3 turns"),
        ("fifty-five points", Kind.HARDNESS, "55"),
    ],
)
def test_other_kinds_are_heard_too(text: str, kind: Kind, written: str) -> None:
    assert parse(text, kind).value == parse(written, kind).value


@pytest.mark.parametrize(
    "text",
    [
        "twenty five sixteenths",  # 25/16, or 20 5/16
        "twenty five thirty seconds",  # 25/32, or 20 5/32
        "one hundred and five eighths",  # 105/8, or 100 5/8
    ],
)
def test_what_can_be_heard_in_two_ways_is_refused(text: str) -> None:
    with pytest.raises(QuantityError, match="can be heard in two ways"):
        parse(text, Kind.LENGTH)


@pytest.mark.parametrize(
    "text",
    [
        *("46 and 5", "46 six", "40 6 and a half", "two and five", "two point", "point", "minus"),
        *("and", "one hundred and", "46 to 5/16", "to and a quarter", "2 1/2 and a quarter"),
        *("46.5 and a half", "2-1/4 and a half", "two two and a half", "46 a half"),
        *("two point twelve", "two and minus a half", "five quarters", "two and nine eighths"),
        *("46 point 3 point 1", "two inches and five eighths", "and a quarter", "2 five"),
    ],
)
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        parse(text, Kind.LENGTH)


def test_a_fraction_in_words_is_none_in_millimetres_either() -> None:
    with pytest.raises(QuantityError, match="Fractions are not written in mm"):
        parse("two and a quarter", Kind.LENGTH, units=Units.metric())


def test_half_of_what_is_asked_where_it_may_be_of_a_tank() -> None:
    for text in ("half", "a half", "three quarters"):
        with pytest.raises(QuantityError, match="may be of the tank"):
            parse(text, Kind.VOLUME)
    assert parse("half a gallon", Kind.VOLUME).value == parse("1/2 gal", Kind.VOLUME).value
    assert parse("two and a half", Kind.VOLUME).value == parse("2 1/2 gal", Kind.VOLUME).value
    assert parse("half", Kind.LENGTH).value == parse("1/2", Kind.LENGTH).value


@pytest.mark.parametrize(
    "text", ["46 5/16", "46 5/16 in", "2°", "-1/16", "318 lb 4 oz", "5 points"]
)
def test_what_is_in_digits_already_stays_as_it_is(text: str) -> None:
    assert in_digits(text) == text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        *(("46 5/16", False), ("two and a quarter", False), ("46 point 3", False), ("", False)),
        *(("46 in", True), ("two and a quarter inches", True), ("half an inch", True)),
        *(('46"', True), ("2°", True), ("4 ft 2 in", True), ("nonsense", False)),
    ],
)
def test_words_of_a_number_are_no_unit(text: str, says: bool) -> None:
    assert has_unit(text) is says


@given(
    whole=st.integers(1, 99),
    bottom=st.sampled_from(sorted(PARTS)),
    data=st.data(),
    join=st.sampled_from([" ", "-"]),
    in_words=st.booleans(),
    minus=st.booleans(),
)
def test_a_whole_and_a_fraction_are_heard_as_they_are_meant(
    whole: int, bottom: int, data: st.DataObject, join: str, in_words: bool, minus: bool
) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    number = said(whole, join) if in_words else str(whole)
    heard = f"{'minus ' * minus}{number} and {said(top, join)} {PARTS[bottom][top > 1]}"
    meant = whole + Fraction(top, bottom)
    assert inches(heard) == (-meant if minus else meant)


@given(
    whole=st.integers(0, 99),
    bottom=st.sampled_from(sorted(PARTS)),
    data=st.data(),
)
def test_without_its_and_it_is_what_was_meant_or_refused(
    whole: int, bottom: int, data: st.DataObject
) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    try:
        read = inches(f"{said(whole)} {said(top)} {PARTS[bottom][top > 1]}")
    except QuantityError:
        # Tens and ones: 'twenty five sixteenths'.
        assert whole % 10 == 0
        assert whole >= 20
        assert top < 10
    else:
        assert read == whole + Fraction(top, bottom)


@given(whole=st.integers(0, 99), digits=st.text(alphabet="0123456789", min_size=1, max_size=6))
def test_digits_after_a_point_are_heard_one_by_one(whole: int, digits: str) -> None:
    meant = Fraction(f"{whole}.{digits}")
    spoken = " ".join(ONES[int(digit)] for digit in digits)
    assert inches(f"{said(whole)} point {spoken}") == meant
    assert inches(f"{whole} point {digits}") == meant


VOCABULARY = [
    *(*ONES, *TENS, "hundred", "and", "a", "an", "of", "point", "minus"),
    *(word for pair in PARTS.values() for each in pair for word in each.split("-")),
    *("46", "5", "5/16", "1/2", "2.5", "inches", "inch", "feet", "psi", "-", "."),
]


@settings(max_examples=examples(1000))
@given(words=st.lists(st.sampled_from(VOCABULARY), max_size=7), kind=st.sampled_from(Kind))
def test_any_words_are_read_or_refused(words: list[str], kind: Kind) -> None:
    check(" ".join(words), kind)


@settings(max_examples=examples(1000))
@given(words=st.lists(st.sampled_from([*ONES, *TENS, "and", "hundred"]), min_size=1, max_size=5))
def test_digits_never_come_of_words_that_another_order_of_saying_makes(words: list[str]) -> None:
    """Whole numbers read from words say, said again, the same words."""
    text = " ".join(words)
    try:
        number = int(inches(text))
    except QuantityError:
        return
    hundreds, rest = divmod(number, 100)
    front = [ONES[hundreds], "hundred"] if hundreds else []
    tail = said(rest).split() if rest or not hundreds else []
    assert [word for word in words if word != "and"] == front + tail
