"""Random text that is almost a quantity: most of it wrong, some of it right.

One seed makes one sequence. Shared by the tests and by the long run in tests/benchmarks.
"""

from collections.abc import Iterator
from random import Random

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import UNITS

SAMPLES = (
    "46 5/16", '46-5/16"', "2 1/4 in", "7/16", "-1/16", "3.1", "3,1", "118.1 cm", "11 psi",
    "0.75 bar", "318 lb", "144 kg", "110 lb/in", "2°", "+1/8", "46½″", "-2 1/4", "4' 2\"",
    "4 ft 2 1/2 in", "318 lb 4 oz", "2° 30'", "59 °F", "15℃", "1,234.5", "46 9/7", "1e9",
    "nan", "２ １／４", "1 1/3 turns", "51.5%", "25 ft-lb", "1 fl oz", "٤٦", "46 5⁄16",
)  # fmt: skip
WORDS = {
    kind: tuple(word for unit in units.values() for word in unit.spellings)
    for kind, units in UNITS.items()
}
BITS = (
    *"01234567890123456789  //.,-+'\"°½⅞⅓−⁄",
    "in",
    "ft",
    "lb",
    "oz",
    "mm",
    "5/16",
    "1/2",
    "''",
    "e9",
)
ODD = "\x00\n\t\u00a0\u200b\u2028\ufeff\ud800٣४³Ⅷ一￥㎜ßİﬀ🏁()[]{}<>&;%#@!?*^_=|\\~"


def _number(random: Random) -> str:
    digits = str(random.randrange(10 ** random.choice((1, 2, 2, 3, 12))))
    fraction = f"{random.randrange(9)}/{random.choice((2, 4, 8, 16, 32, 64, 0, 3))}"
    decimal = f"{digits}{random.choice('.,')}{random.randrange(10 ** random.randrange(1, 5))}"
    return random.choice(
        (digits, fraction, f"{digits} {fraction}", f"{digits}-{fraction}", decimal)
    )


def _phrase(random: Random, kind: Kind) -> str:
    sign = random.choice(("", "", "", "", "-", "+", "−", "--"))
    parts = random.choice((1, 1, 1, 1, 2, 2, 3))
    gap = random.choice(("", " ", "  ", "\u00a0"))
    words = WORDS[random.choice((kind, kind, kind, random.choice(tuple(Kind))))]
    return sign + gap.join(
        _number(random) + gap + random.choice(("", random.choice(words))) for _ in range(parts)
    )


def _altered(random: Random, _kind: Kind) -> str:
    text = random.choice(SAMPLES)
    for _ in range(random.randrange(1, 4)):
        at = random.randrange(len(text) + 1)
        cut = random.choice((0, 0, 1, 2))
        text = text[:at] + random.choice((*BITS, random.choice(ODD))) + text[at + cut :]
    return text


def _bits(random: Random, _kind: Kind) -> str:
    return "".join(random.choices(BITS, k=random.randrange(1, 9)))


def _anything(random: Random, _kind: Kind) -> str:
    length = random.choice((1, 2, 3, 8, 60, 61, 200))
    return "".join(chr(random.randrange(0x110000)) for _ in range(random.randrange(length)))


MAKERS = (_phrase, _phrase, _phrase, _altered, _altered, _bits, _bits, _anything)


def near_valid(seed: int) -> Iterator[tuple[str, Kind]]:
    """Endless pairs of a text and the kind it is offered as."""
    random = Random(seed)
    kinds = (*Kind, Kind.LENGTH, Kind.LENGTH, Kind.LENGTH, Kind.MASS, Kind.ANGLE)
    while True:
        kind = random.choice(kinds)
        yield random.choice(MAKERS)(random, kind), kind
