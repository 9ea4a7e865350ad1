"""What can be read and kept of what is sent: one answer for forms, addresses, headers and JSON."""

import json
import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from typing import Any, NoReturn

from clubsetup.access.errors import Invalid

# NUL, which no text column takes, and half of a surrogate pair, which no encoding writes.
_NO_TEXT = re.compile("[\x00\ud800-\udfff]")
DEEPEST = 40  # objects and lists in one another; what is asked for has six
_LARGEST_WHOLE = 2**63  # as a bigint has
_LARGEST = 10  # digits before the point, as a numeric(20, 10) has
_LONGEST_NUMBER = 60


def has_no_text(value: object) -> bool:
    """Whether a text, or one of a list of texts, holds a sign that cannot be kept."""
    if isinstance(value, str):
        return _NO_TEXT.search(value) is not None
    return isinstance(value, list | tuple) and any(has_no_text(one) for one in value)


def with_text_only(text: str) -> str:
    """The text without such signs, for boxes in which nothing else than text is meant."""
    return _NO_TEXT.sub("", text)


def plain_decimal(text: str) -> Decimal | None:
    """The number written, None for what is none or more than a column holds (1e999999999)."""
    try:
        number = Decimal(text.strip()) if len(text) <= _LONGEST_NUMBER else Decimal("NaN")
    except InvalidOperation:
        return None
    # Arithmetic on a huge exponent overflows, comparing and looking at its parts does not.
    fits = number.is_finite() and (not number or -_LONGEST_NUMBER < number.adjusted() < _LARGEST)
    return number if fits else None


def read_json(body: bytes, *, texts: bool = True) -> Any:
    """What a JSON body says. Raises Invalid: with the place of what cannot be kept, if it has one.

    Refused are other encodings than UTF-8, NaN and Infinity, numbers that overflow, what is nested
    too deep, and texts that hold NUL or half of a surrogate pair (`texts` False: the caller does).
    """
    try:
        data = json.loads(body.decode("utf-8"), parse_constant=_constant)
    except RecursionError:
        raise _too_deep("") from None
    except UnicodeDecodeError:
        raise Invalid("", "This is not UTF-8. Send JSON in UTF-8.") from None
    except ValueError as error:
        raise Invalid("", f"This is not JSON: {error}.") from None
    for at, problem in _problems(data, texts=texts):
        raise Invalid(at, problem)
    return data


def _constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number of JSON")


def _too_deep(at: str) -> Invalid:
    return Invalid(at, f"This is nested more than {DEEPEST} deep.")


def _problems(whole: Any, *, texts: bool) -> Iterator[tuple[str, str]]:
    """The place and the reason of each value that cannot be kept, without recursion."""
    waiting: list[tuple[tuple[str, ...], Any]] = [((), whole)]
    while waiting:
        path, value = waiting.pop()
        inner: Any = ()
        if isinstance(value, dict):
            inner = value.items()
            if texts and any(has_no_text(key) for key in value):
                yield "/".join(path), "A name in it holds a sign that cannot be kept."
        elif isinstance(value, list):
            inner = enumerate(value)
        elif problem := _problem(value, texts=texts):
            yield "/".join(path), problem
        if inner and len(path) >= DEEPEST:
            yield "/".join(path[:3]), f"This is nested more than {DEEPEST} deep."
        else:
            waiting += [((*path, str(key)), one) for key, one in inner]


def _problem(value: Any, *, texts: bool) -> str:
    if texts and has_no_text(value):
        return "This text holds a sign that cannot be kept (NUL, or half of a pair)."
    if isinstance(value, int) and abs(value) >= _LARGEST_WHOLE:
        return "This number is too large."
    if isinstance(value, float) and value in (float("inf"), float("-inf")):
        return "This number is too large."
    return ""
