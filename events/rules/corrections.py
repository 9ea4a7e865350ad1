"""What a scale check says about the weights read after it: pass or fail, corrections, their doubt.

Any one unit of mass throughout. The reference masses count as exact: use masses whose own error is
under a third of what the scale is allowed (OIML R 76-1:2006, 3.7.1, from memory).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from clubsetup.quantities.uncertainty import Estimate, from_step
from events.rules.scales import ScaleError, check_scale

# The extra masses that find the turning point are laid on in steps of a tenth of e (A.4.4.3).
ADDED_STEP = 0.1
WHOLE = "car"


@dataclass(frozen=True, slots=True)
class CheckedLoad:
    """One pad with one reference mass on it: the error found, what is allowed, its uncertainty."""

    load: float
    error: float
    allowed: float
    u: float
    within: bool


def checked_load(shown: float, load: float, e: float, added: float | None = None) -> CheckedLoad:
    """The error E = P - L of one pad at one load, against class III in service.

    P = I + e/2 - dL where the extra mass dL is given, otherwise the display's own figure I
    (OIML R 76-1:2006, A.4.4.3 and table 6). u(E) is that of a step: e/sqrt 12 by the display
    alone, e/10/sqrt 12 with dL, which is laid on in steps of e/10 (JCGM 100:2008, F.2.2.1).
    Raises ScaleError as `check_scale` does, and for a load of nothing.
    """
    if load <= 0:
        raise ScaleError("load", "must be more than zero")
    error = check_scale(shown, load, e, added=added, in_service=True)
    step = e if added is None else e * ADDED_STEP
    return CheckedLoad(load, error.error, error.allowed, from_step(step), error.within)


def correction_at(load: float, checked: Sequence[CheckedLoad]) -> Estimate:
    """What to add to a figure read at `load`: C = -E, straight between the loads checked.

    Beyond the least and the greatest load checked the nearest one's error stands; nothing is
    known there. u is carried through the straight line (JCGM 100:2008, 5.1.2). Raises
    ScaleError without any load checked.
    """
    if not checked:
        raise ScaleError("load", "none was checked")
    known = sorted(checked, key=lambda one: one.load)
    above = next((one for one in known if one.load >= load), known[-1])
    below = next((one for one in reversed(known) if one.load <= load), known[0])
    if above.load == below.load:
        return Estimate(-above.error, above.u)
    share = (load - below.load) / (above.load - below.load)
    return Estimate(
        -(below.error + share * (above.error - below.error)),
        math.hypot((1.0 - share) * below.u, share * above.u),
    )


def corrections(
    loads: Mapping[str, float], total: float, checked: Mapping[str, Sequence[CheckedLoad]]
) -> dict[str, Estimate]:
    """The correction of each pad at what it carries; of a platform, at the total.

    Where four pads gave only a total each is taken to carry a quarter of it: common practice, no
    source.
    """
    quarter = total / len(checked)
    return {
        pad: correction_at(loads.get(pad, quarter), loads_checked)
        for pad, loads_checked in checked.items()
    }


def together(each: Mapping[str, Estimate]) -> Estimate:
    """The correction of the total: the sum over the pads, independent (JCGM 100:2008, 5.1.2)."""
    return Estimate(
        math.fsum(one.value for one in each.values()), math.hypot(*(one.u for one in each.values()))
    )
