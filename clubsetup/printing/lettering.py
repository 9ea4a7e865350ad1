"""How wide a line of print can get, and how large it may be set to stay in its place.

What the typeface of the look has no sign for is set in one of the machine's, and which that is is
not known when a drawing is made. So a line is given as much room as it could take in bold DejaVu
Sans, the widest that the style sheets ask for; what is set in another takes less. Widths by
groups, rounded up, read from that typeface's own table of advances.
"""

from dataclasses import dataclass
from unicodedata import category, normalize

# In heights of the type, for each group of characters.
_GROUPS = (
    (0.40, "⁄',./:;\\ij|IJ"),
    (0.50, " l!()-[]_`frt"),
    (0.62, '"*?csz°–·′″'),
    (0.72, "$0123456789EFLTabdeghknopquvxy{}"),
    (0.88, "#&+<=>ABCDGHKNOPQRSUVXYZ^~≈−±×"),
    (1.06, "%@Mmw"),
    (1.12, "W"),
)
_WIDTHS = {char: width for width, chars in _GROUPS for char in chars}
_LETTER = 1.46  # any other letter before the syllabics, and a sign put together of others
_RARE = "\u1400"
_ANYTHING = 2.05  # the widest sign there is
_JOINED = ("Mn", "Me", "Cf")  # accents stand on the letter before them
WORTH = 1.4  # by how much larger type must get for another line, or for breaking a word
LEADING = 1.2  # from one line to the next, in heights of the type


def width_of(text: str) -> float:
    """The most that a line can be wide, in heights of its type."""
    return sum(map(_width, normalize("NFC", text)))


def _width(char: str) -> float:
    if char in _WIDTHS:
        return _WIDTHS[char]
    if category(char) in _JOINED:
        return 0.0
    letter, *accents = list(normalize("NFD", char))
    if accents and all(category(one) in _JOINED for one in accents):
        return _width(letter)
    parts = normalize("NFKD", char)
    if parts != char:
        return max(_LETTER, sum(map(_width, parts)))
    return _LETTER if char < _RARE and category(char).startswith("L") else _ANYTHING


@dataclass(frozen=True, slots=True)
class Fitted:
    """Text as it goes into its place: one size, in the unit of the room, and the lines."""

    size: float
    lines: tuple[str, ...]


def fit(text: str, *, room: float, largest: float, height: float, lines: int = 1) -> Fitted:
    """The text at the largest size, at most `largest`, at which it stays within room by height.

    It may take up to so many lines; it is broken between words where that does, and anywhere
    where a word alone would be too long. Nothing is left out.
    """
    text = " ".join(normalize("NFC", text).split())
    best = _set(text, 1, room, largest, height)
    for n in range(2, lines + 1):
        fitted = _set(text, n, room, largest, height)
        if fitted.size > WORTH * best.size:
            best = fitted
    return best


def _set(text: str, lines: int, room: float, largest: float, height: float) -> Fitted:
    words, pieces = _between_words(text, lines), _anywhere(text, lines)
    broken = pieces if WORTH * _widest(pieces) < _widest(words) else words
    size = min(largest, room / max(_widest(broken), 0.01), height / (LEADING * len(broken)))
    return Fitted(size, tuple(broken))


def _widest(lines: list[str]) -> float:
    return max(map(width_of, lines), default=0.0)


def _between_words(text: str, lines: int) -> list[str]:
    """The words over at most so many lines, each filled as far as the narrowest fit allows."""
    words = text.split()
    at_least, at_most = _widest(words), width_of(text)
    best = [text]
    for _ in range(12):
        middle = (at_least + at_most) / 2.0
        filled = _filled(words, middle)
        if 0 < len(filled) <= lines:
            best, at_most = filled, middle
        else:
            at_least = middle
    return best


def _filled(words: list[str], room: float) -> list[str]:
    lines: list[str] = []
    for word in words:
        if lines and width_of(f"{lines[-1]} {word}") <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _anywhere(text: str, lines: int) -> list[str]:
    """Pieces of about the same width, whatever stands in them."""
    share, pieces = width_of(text) / lines, [""]
    for char in text:
        if pieces[-1] and width_of(pieces[-1] + char) > share and len(pieces) < lines:
            pieces.append("")
        pieces[-1] += char
    return [line.strip() for line in pieces]
