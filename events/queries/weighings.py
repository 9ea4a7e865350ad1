"""Which weighings of an entry stand, and what they say together."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cars.mechanics.corners import Corners
from cars.mechanics.loads import Shares, shares
from clubsetup.quantities.uncertainty import Estimate, type_a
from events.models import Entry, WeighIn
from events.rules import ScaleDoubt


@dataclass(frozen=True)
class Weighed:
    """What one car, as it stood, weighed: one weigh-in, or several of the unchanged car."""

    stage: str
    driver_in: bool
    tank_empty: bool
    weigh_ins: tuple[WeighIn, ...]
    total: Estimate  # kg
    shares: Shares | None  # fractions; None without four pads each time

    @property
    def scales(self) -> ScaleDoubt:
        """What is wrong with the checks that these weighings rest on; one is enough."""
        checks = [w.scale_check for w in self.weigh_ins]
        if any(check is not None and not check.passed for check in checks):
            return ScaleDoubt.FAILED
        return ScaleDoubt.UNCHECKED if None in checks else ScaleDoubt.NONE


def standing_weigh_ins(
    entry: Entry, *, stage: str, driver_in: bool, tank_empty: bool
) -> list[WeighIn]:
    """The weigh-ins of that kind that stand together now, oldest first."""
    every = entry.weighins.filter(
        stage=stage, driver_in=driver_in, tank_empty=tank_empty
    ).select_related("void")
    return _standing(list(every))


def weighed(weigh_ins: Iterable[WeighIn]) -> list[Weighed]:
    """What stands of an entry's weigh-ins (each with its void): one for each stage, with and
    without the driver, as it came and with the tank empty."""
    kinds: dict[tuple[str, bool, bool], list[WeighIn]] = {}
    for one in sorted(weigh_ins, key=lambda w: (w.created_at, w.pk)):
        kinds.setdefault((one.stage, one.driver_in, one.tank_empty), []).append(one)
    standing = {kind: _standing(found) for kind, found in kinds.items()}
    return [_together(found) for found in standing.values() if found]


def is_void(weigh_in: WeighIn) -> bool:
    """Taken out of force; asks nothing of the database where the void was selected with it."""
    return hasattr(weigh_in, "void")


def _standing(weigh_ins: Sequence[WeighIn]) -> list[WeighIn]:
    """Back from the newest to the last one that began anew; those voided do not count.

    A voided one ends the search only if something after it stands: what came before was another
    state of the car.
    """
    found: list[WeighIn] = []
    for weigh_in in reversed(weigh_ins):
        if not is_void(weigh_in):
            found.append(weigh_in)
        if found and not weigh_in.again:
            break
    return found[::-1]


def _together(weigh_ins: Sequence[WeighIn]) -> Weighed:
    totals = [w.counted("total") for w in weigh_ins]
    total = mean([w.u_counted for w in weigh_ins], totals)
    return Weighed(
        stage=weigh_ins[0].stage,
        driver_in=weigh_ins[0].driver_in,
        tank_empty=weigh_ins[0].tank_empty,
        weigh_ins=tuple(weigh_ins),
        total=total,
        shares=_shares(weigh_ins, total.u),
    )


def mean(each: Sequence[float], totals: Sequence[float]) -> Estimate:
    """The mean of weighings of the unchanged car, kg, from their totals and the u of each.

    u is the larger of what the divisions say, sqrt(sum u_i^2) / n (JCGM 100:2008, 5.1.2; the car is
    rolled off and on between, so the roundings are independent), and of what the scatter says,
    s / sqrt(n) with n - 1 degrees of freedom (4.2.3).
    """
    n = len(totals)
    of_division = Estimate(math.fsum(totals) / n, math.hypot(*each) / n)
    if n == 1:
        return of_division
    return max(of_division, type_a(totals), key=lambda estimate: estimate.u)


def _shares(weigh_ins: Sequence[WeighIn], u_total: float) -> Shares | None:
    if any(w.lf is None for w in weigh_ins):
        return None
    n = len(weigh_ins)
    means = [math.fsum(w.counted(spot) for w in weigh_ins) / n for spot in Corners._fields]
    # Four independent pads make the total: each has half its uncertainty.
    return shares(Corners(*means), u_total / 2.0)
