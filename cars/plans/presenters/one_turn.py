"""What one turn at a seat does to cross, before and after learning, in words."""

import math

from cars.mechanics.calibration import COVERAGE_95
from cars.plans.queries.calibration import Calibration, OneTurn

PLACES = 2


def format_one_turn(one: OneTurn, *, learned: bool) -> str:
    """'One turn of RF moves cross by +0.62% ± 0.05% (worked out from the chassis: +0.70% ± 0.12%)'.

    Half the 95 % interval of the true change, rounded up; the scales' own error is not in it.
    """
    worked_out = _format(one.worked_out, one.u_worked_out)
    if not learned:
        return f"One turn of {one.corner} moves cross by {worked_out}, worked out from the chassis"
    learned_text = _format(one.cross, one.u_cross)
    before = f"worked out from the chassis: {worked_out}"
    return f"One turn of {one.corner} moves cross by {learned_text} ({before})"


def format_learned(calibration: Calibration | None) -> str:
    """'6 changes learned: what one turn does to cross is known within ±0.2%.'"""
    if calibration is None:
        return "No prediction yet."
    if calibration.within is None:
        return "No prediction yet: the chassis page has no geometry."
    learned = calibration.learned
    count = f"{learned} change{'' if learned == 1 else 's'} learned"
    known = count if learned else "Worked out from the chassis, not yet from this car"
    return f"{known}: what one turn does to cross is known within ±{calibration.within:.1f}%."


def _format(value: float, u: float) -> str:
    up = math.ceil(COVERAGE_95 * u * 10**PLACES - 1e-6) / 10**PLACES
    return f"{value:+.{PLACES}f}% ± {up:.{PLACES}f}%".replace("-", "−")
