"""Chain, sprockets and how fast the car goes. Circumferences mm, speed m/s."""

import math

from cars.mechanics.errors import BadInput, OutOfReach, positive

FEWEST_TEETH = 5


def gear_ratio(*stages: tuple[int, int]) -> float:
    """Turns of the engine per turn of the axle, from (driving, driven) teeth of each stage.

    The product of driven / driving over the stages. Raises BadInput for no stage, or for teeth
    that are not whole or are too few to carry a chain.
    """
    if not stages:
        raise BadInput("stages", "at least one pair of sprockets or gears is needed")
    ratio = 1.0
    for driving, driven in stages:
        ratio *= _teeth("driven teeth", driven) / _teeth("driving teeth", driving)
    return ratio


def ground_speed(engine_rpm: float, ratio: float, circumference: float) -> float:
    """Speed over the ground in m/s: v = rpm / 60 / ratio * circumference / 1000.

    `circumference` is the roll-out of a driven tyre. Assumes no slip and no growth of
    the tyre with speed. Raises BadInput for a figure that is not positive.
    """
    turns = positive("engine_rpm", engine_rpm) / 60.0 / positive("ratio", ratio)
    return turns * positive("circumference", circumference) / 1000.0


def engine_speed(speed: float, ratio: float, circumference: float) -> float:
    """Engine speed in rpm at `speed` m/s; the inverse of `ground_speed`, same errors."""
    turns = 1000.0 * positive("speed", speed) / positive("circumference", circumference)
    return 60.0 * turns * positive("ratio", ratio)


def chain_length(driving: int, driven: int, centre_distance: float) -> float:
    """Length of a chain round two sprockets in links, not rounded.

    L = 2C + (N + n)/2 + (N - n)^2 / (4 pi^2 C), N and n the teeth, C the centre distance in
    pitches: the usual approximation, short of the exact belt by at most 0.1 link with C over 20
    pitches and N up to 4 n and 80, and by 0.02 with C over 35. Raises BadInput for teeth that
    make no sprocket, OutOfReach when the sprockets would touch.
    """
    small, large = sorted((_teeth("driving teeth", driving), _teeth("driven teeth", driven)))
    c = positive("centre_distance", centre_distance)
    _must_clear(small, large, c)
    return 2.0 * c + (large + small) / 2.0 + (large - small) ** 2 / (4.0 * math.pi**2 * c)


def whole_chain(links: float) -> int:
    """The shortest chain of an even number of links that goes round, as chains are joined.

    A chain of roller and pin links joins only in pairs (common practice, no source); a length
    within a hundredth of a link of an even number counts as that number.
    """
    return 2 * math.ceil((positive("links", links) - 0.01) / 2.0)


def centre_distance(driving: int, driven: int, links: float) -> float:
    """Centre distance in pitches that a chain of `links` links asks for.

    `chain_length` solved for C: with A = L - (N + n)/2, C = (A + sqrt(A^2 - 2 (N - n)^2 / pi^2))/4.
    Raises OutOfReach when the chain is too short for the sprockets.
    """
    small, large = sorted((_teeth("driving teeth", driving), _teeth("driven teeth", driven)))
    free = positive("links", links) - (large + small) / 2.0
    inside = free**2 - 2.0 * (large - small) ** 2 / math.pi**2
    if free <= 0 or inside < 0:
        raise OutOfReach("links", f"{links:g} links do not go round {small} and {large} teeth")
    c = (free + math.sqrt(inside)) / 4.0
    _must_clear(small, large, c)
    return c


def touching_distance(driving: int, driven: int) -> float:
    """Centre distance in pitches at which the pitch circles meet, radius 1 / (2 sin(pi/N)) each.

    Raises BadInput for teeth that make no sprocket.
    """
    teeth = (_teeth("driving teeth", driving), _teeth("driven teeth", driven))
    return sum(0.5 / math.sin(math.pi / n) for n in teeth)


def _teeth(name: str, teeth: int) -> int:
    if int(positive(name, teeth)) != teeth or teeth < FEWEST_TEETH:
        raise BadInput(name, f"must be a whole number of {FEWEST_TEETH} or more, not {teeth}")
    return int(teeth)


def _must_clear(small: int, large: int, centre: float) -> None:
    reach = touching_distance(small, large)
    if centre <= reach:
        raise OutOfReach(
            "centre_distance", f"{centre:.1f} pitches, but the sprockets touch at {reach:.1f}"
        )
