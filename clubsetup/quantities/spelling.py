"""The letters of what people type: tidied, split into numbers and unit words.

Nothing here knows what a unit is worth.
"""

import re
import unicodedata
from fractions import Fraction
from typing import NamedTuple

from clubsetup.quantities.dictation import in_digits
from clubsetup.quantities.errors import Refusal, quoted

LONGEST = 60

_SAME = {
    "-": "−–—‐‑‒―⁻﹣",
    "/": "⁄∕",
    "'": "′ʹ’‘´`",
    '"': "″ʺ“”„",
    "°": "º˚",
    "·": "⋅∙•",
    "": "\u200b\u200c\u200d\u200e\u200f\u2060\ufeff\u00ad",
}
_VULGAR = "½¼¾⅛⅜⅝⅞⅓⅔⅙⅚⅕⅖⅗⅘⅐⅑⅒"


def _translation() -> dict[int, str]:
    table = {ord(char): plain for plain, chars in _SAME.items() for char in chars}
    table |= {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)}  # full width forms
    table |= {ord("℃"): "°C", ord("℉"): "°F"}
    for char in _VULGAR:
        fraction = unicodedata.normalize("NFKC", char).replace("⁄", "/")
        table[ord(char)] = f" {fraction} "  # so that 46½ is not 461/2
    return table


_PLAIN = _translation()
_SIGN = re.compile(r" *([+-]?) *")
_PART = re.compile(
    r"""
    (?: (?: (?P<whole>[0-9]+) (?: [ ]+ | -[ ]* ) )?
        (?P<top>[0-9]+) [ ]* / [ ]* (?P<bottom>[0-9]+)
      | (?P<decimal> [0-9]+ (?: [.,] [0-9]* )? | [.,] [0-9]+ )
    )
    [ ]* (?P<word> [^0-9.,+\-/ ] [^0-9,+]* )? [ ]*
    """,
    re.VERBOSE,
)
_TWO_SEPARATORS = re.compile(r"[0-9][.,][0-9]+[.,][0-9]")
_EXPONENT = re.compile(r"[0-9.,]e[+-]?[0-9]", re.IGNORECASE)
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


class Number(NamedTuple):
    """An unsigned number as written, and the step that its writing resolves."""

    value: Fraction
    step: Fraction
    decimals: int  # digits after the decimal point
    denominator: int | None  # of the fraction, if there is one


class SpelledPart(NamedTuple):
    """A number and the word behind it, which may be empty."""

    number: Number
    word: str
    text: str


class Phrase(NamedTuple):
    """All that was typed: a sign over one or two parts."""

    negative: bool
    parts: tuple[SpelledPart, ...]


def tidy(text: str) -> str:
    """The text in plain characters: one kind of minus, slash, prime, space and digit."""
    plain = text.translate(_PLAIN).replace("''", '"')
    return " ".join(plain.split())


def normal(word: str) -> str:
    """A unit word as the table of units spells it."""
    lowered = word.casefold().strip().removesuffix(".").rstrip()
    lowered = lowered.replace(" per ", "/").replace("-", " ").replace("° ", "°")
    return re.sub(r" *([/·]) *", r"\1", lowered)


def split(text: str) -> Phrase:
    """The sign and the one or two parts of tidy text. Raises Refusal."""
    text = in_digits(text)
    _refuse_early(text)
    sign = _SIGN.match(text)
    position = sign.end() if sign else 0
    parts: list[SpelledPart] = []
    while position < len(text):
        match = _PART.match(text, position)
        if match is None or len(parts) == 2:
            raise Refusal(_leftover(text, position))
        position = match.end()
        parts.append(_part(match, last=position == len(text)))
    if not parts:
        raise Refusal("Write a number, not only a sign.")
    return Phrase(negative=bool(sign and sign[1] == "-"), parts=tuple(parts))


def has_unit(text: str) -> bool:
    """Whether a quantity that was read says its unit; letters alone may be a number in words."""
    try:
        return bool(split(tidy(text)).parts[-1].word)
    except Refusal:
        return False


def _refuse_early(text: str) -> None:
    if not text:
        raise Refusal("Nothing is written here. Write a number.")
    if any(char.isdigit() and not char.isascii() and char != "²" for char in text):
        raise Refusal("Write the number with the digits 0 to 9.")
    if not any(char.isdigit() for char in text):
        raise Refusal(f"{quoted(text)} is not a number. Write it in digits.")
    if _TWO_SEPARATORS.search(text):
        raise Refusal("Write one decimal point and no mark between the thousands, as in 1234.5.")
    if _EXPONENT.search(text):
        raise Refusal("Write the number out in full, without a power of ten.")


def _leftover(text: str, position: int) -> str:
    rest = quoted(text[position:])
    if text[position] in "+-":
        return f"The sign before {quoted(text[position + 1 :].strip())} stands in the middle. " + (
            "Write one sign, in front; a fraction follows its whole number as in 46 5/16."
        )
    if position == 0:
        return f"{rest} does not begin with a number. Write the number first, then its unit."
    return f"{rest} is left over. Write one number and its unit."


def _part(match: re.Match[str], *, last: bool) -> SpelledPart:
    word = (match["word"] or "").strip()
    if not last:
        word = word.removesuffix("-")  # 4'-2" as builders write it
    number = _decimal(match["decimal"]) if match["decimal"] else _fraction(match)
    return SpelledPart(number, normal(word), match[0].strip())


def _decimal(written: str) -> Number:
    if _THOUSANDS.fullmatch(written):
        point, joined = written.replace(",", "."), written.replace(",", "")
        raise Refusal(f"{quoted(written)} can be read in two ways. Write {point} or {joined}.")
    whole, _, after = written.replace(",", ".").partition(".")
    value = Fraction(int(whole + after), 10 ** len(after))
    return Number(value, Fraction(1, 10 ** len(after)), len(after), None)


def _fraction(match: re.Match[str]) -> Number:
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    written = quoted(f"{match['top']}/{match['bottom']}")
    if bottom == 0:
        raise Refusal(f"{written} divides by zero.")
    if top >= bottom:
        raise Refusal(
            f"{written} is not less than one. Write the whole number, a space, "
            "then the rest, as in 46 5/16."
        )
    return Number(whole + Fraction(top, bottom), Fraction(1, bottom), 0, bottom)
