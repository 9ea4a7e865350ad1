"""Numbers in words, as a phone's dictation writes them: 'two and a quarter', '46 and 5/16'.

Whatever can be said is written with digits; what can be heard in two ways (25/16 or 20 5/16 of
"twenty five sixteenths") is refused: every way of reading the words is tried and they must agree.
"""

import re
from collections.abc import Iterator, Sequence
from itertools import chain

from clubsetup.quantities.errors import Refusal, quoted

_SMALL = [
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
_ONES = {word: value for value, word in enumerate(_SMALL)}
_TENS = {
    word: 10 * value
    for value, word in enumerate(
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2
    )
}
_PARTS = {
    ("half",): 2,
    ("halves",): 2,
    ("third",): 3,
    ("thirds",): 3,
    ("quarter",): 4,
    ("quarters",): 4,
    ("fourth",): 4,
    ("fourths",): 4,
    ("sixth",): 6,
    ("sixths",): 6,
    ("eighth",): 8,
    ("eighths",): 8,
    ("twelfth",): 12,
    ("twelfths",): 12,
    ("sixteenth",): 16,
    ("sixteenths",): 16,
    ("thirty", "second"): 32,
    ("thirty", "seconds"): 32,
    ("sixty", "fourth"): 64,
    ("sixty", "fourths"): 64,
}
_SIGNS = {"minus": "-", "negative": "-", "plus": "+"}
_ARTICLES = ("a", "an")
_LITERAL = re.compile(r"[0-9]+(?:/[0-9]+|[.,][0-9]+)?")
_WHOLE = re.compile(r"[0-9]+")
_FRACTION = re.compile(r"[0-9]+/[0-9]+")
_NUMBER_WORDS = {
    *(*_ONES, *_TENS, *_SIGNS, *_ARTICLES, "hundred", "and", "point", "of"),
    *chain.from_iterable(_PARTS),
}
_HEARD = _NUMBER_WORDS - {"a", "an", "of"}


def in_digits(text: str) -> str:
    """Tidy text with the numbers that are in words written in digits; other text as it is.

    Raises Refusal for what can be read in two ways.
    """
    words = text.casefold().removesuffix(".").split(" ")
    if not any(word in _HEARD for each in words for word in each.split("-")):
        return text
    written: list[str] = []
    run: list[str] = []
    for word in [*words, ""]:
        if _is_of_number(word):
            run.append(word)
            continue
        written += _run_in_digits(run, text)
        run = []
        written.append(word)
    return " ".join(written).strip()


def _is_of_number(word: str) -> bool:
    if _LITERAL.fullmatch(word.removeprefix("-").removeprefix("+")):
        return True
    return bool(word) and all(piece in _NUMBER_WORDS for piece in word.split("-"))


def _run_in_digits(run: list[str], text: str) -> list[str]:
    """Words that follow each other and are all of a number, in digits where they make one."""
    if not any(word in _HEARD for each in run for word in each.split("-")):
        return run
    readings = set(_signed(run))
    if len(readings) > 1:
        raise Refusal(
            f"{quoted(text)} can be heard in two ways. Write it in digits, as in 46 5/16."
        )
    return list(readings) or run


def _signed(run: Sequence[str]) -> Iterator[str]:
    first, sign = run[0], ""
    if first in _SIGNS:
        sign, run = _SIGNS[first], run[1:]
    elif first[0] in "+-":
        sign, run = first[0], (first[1:], *run[1:])
    for number in _numbers(_without_of(run)):
        yield sign + number


def _without_of(run: Sequence[str]) -> Sequence[str]:
    """'half an', 'a quarter of an', before an inch: the fraction alone."""
    for end in (("of", "an"), ("of", "a"), ("an",), ("a",)):
        if tuple(run[-len(end) :]) == end:
            return run[: -len(end)]
    return run


def _numbers(run: Sequence[str]) -> Iterator[str]:
    """Every way to read all of these words as one number."""
    yield from (str(whole) for whole in _wholes(run))
    yield from _decimals(run)
    yield from _fractions(run)
    if run and run[0] not in _ARTICLES:
        yield from _bare_parts(run)
    for cut in range(1, len(run)):
        for whole in _wholes(run[:cut]):
            rest = run[cut:]
            if rest[0] == "and":
                fractions = chain(_fractions(rest[1:]), _bare_parts(rest[1:]))
            elif rest[0] in _ARTICLES:
                continue
            else:
                fractions = chain(_fractions(rest))
            yield from (f"{whole} {fraction}" for fraction in fractions)


def _decimals(run: Sequence[str]) -> Iterator[str]:
    """'46 point 3', 'point five': digits after the point are said one by one."""
    if "point" not in run:
        return
    at = list(run).index("point")
    after = run[at + 1 :]
    if len(after) == 1 and _WHOLE.fullmatch(after[0]):
        digits = after[0]
    elif after and all(_ONES.get(word, 10) < 10 for word in after):
        digits = "".join(str(_ONES[word]) for word in after)
    else:
        return
    if at == 0:
        yield f"0.{digits}"
    yield from (f"{whole}.{digits}" for whole in _wholes(run[:at]))


def _fractions(run: Sequence[str]) -> Iterator[str]:
    """'5/16', 'five sixteenths', 'a quarter'."""
    if len(run) == 1 and _FRACTION.fullmatch(run[0]):
        yield run[0]
    for cut in range(1, len(run)):
        bottom = _PARTS.get(_pieces(run[cut:]))
        if bottom is None:
            continue
        tops = [1] if len(run[:cut]) == 1 and run[0] in _ARTICLES else _wholes(run[:cut])
        yield from (f"{top}/{bottom}" for top in tops)


def _bare_parts(run: Sequence[str]) -> Iterator[str]:
    """'half', 'quarter': one of them."""
    if bottom := _PARTS.get(_pieces(run)):
        yield f"1/{bottom}"


def _pieces(run: Sequence[str]) -> tuple[str, ...]:
    return tuple(piece for word in run for piece in word.split("-"))


def _wholes(run: Sequence[str]) -> Iterator[int]:
    """'46', 'forty six', 'forty-six', 'one hundred and five'; of one way to read it at most one."""
    if len(run) == 1 and _WHOLE.fullmatch(run[0]):
        yield int(run[0])
        return
    words = _pieces(run)
    if len(words) >= 2 and words[1] == "hundred" and 1 <= _ONES.get(words[0], 0) <= 9:
        rest = words[3:] if words[2:3] == ("and",) else words[2:]
        below = 0 if len(words) == 2 else _below_hundred(rest)
        if below is not None:
            yield 100 * _ONES[words[0]] + below
        return
    value = _below_hundred(words)
    if value is not None:
        yield value


def _below_hundred(words: Sequence[str]) -> int | None:
    if len(words) == 1:
        return _ONES.get(words[0], _TENS.get(words[0]))
    if len(words) == 2 and words[0] in _TENS and 1 <= _ONES.get(words[1], 0) <= 9:
        return _TENS[words[0]] + _ONES[words[1]]
    return None
