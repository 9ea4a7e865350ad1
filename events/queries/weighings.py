"""Which weighings of an entry stand, and what they say together."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cars.mechanics.corners import Corners
from cars.mechanics.loads import Shares, shares
from clubsetup.quantities.uncertainty import Estimate
from events.models import Entry, WeighIn
from events.rules import ScaleDoubt
from events.rules.repeats import Mean, Read, Scatter, mean_of, prior


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
    return _standing_together(list(every))


def weighed(weigh_ins: Iterable[WeighIn]) -> list[Weighed]:
    """What stands of an entry's weigh-ins (each with its void): one for each stage, with and
    without the driver, as it came and with the tank empty."""
    kinds: dict[tuple[str, bool, bool], list[WeighIn]] = {}
    for one in sorted(weigh_ins, key=lambda w: (w.created_at, w.pk)):
        kinds.setdefault((one.stage, one.driver_in, one.tank_empty), []).append(one)
    standing = {kind: _standing_together(group) for kind, group in kinds.items()}
    return [_together(group) for group in standing.values() if group]


def is_void(weigh_in: WeighIn) -> bool:
    """Taken out of force; asks nothing of the database where the void was selected with it."""
    return hasattr(weigh_in, "void")


def _standing_together(weigh_ins: Sequence[WeighIn]) -> list[WeighIn]:
    """Back from the newest to the last one that began anew; those voided do not count.

    A voided one ends the search only if something after it stands: what came before was another
    state of the car.
    """
    standing: list[WeighIn] = []
    for weigh_in in reversed(weigh_ins):
        if not is_void(weigh_in):
            standing.append(weigh_in)
        if standing and not weigh_in.again:
            break
    return standing[::-1]


def _together(weigh_ins: Sequence[WeighIn]) -> Weighed:
    reads = [_read(one) for one in weigh_ins]
    total = mean_of(reads)
    return Weighed(
        stage=weigh_ins[0].stage,
        driver_in=weigh_ins[0].driver_in,
        tank_empty=weigh_ins[0].tank_empty,
        weigh_ins=tuple(weigh_ins),
        total=total.estimate,
        shares=_shares(weigh_ins, total),
    )


def _read(weigh_in: WeighIn) -> Read:
    """A weigh-in as the mean wants it; one kept before scatter was, with the prior alone."""
    u = float(weigh_in.u_total)
    before = prior(u)
    if weigh_in.scatter is not None and weigh_in.scatter_dof is not None:
        before = Scatter(float(weigh_in.scatter), float(weigh_in.scatter_dof))
    corrected_by = weigh_in.scale_check_id if weigh_in.corrected else None
    return Read(
        total=weigh_in.counted("total"),
        u=u,
        u_common=float(weigh_in.u_correction or 0) if weigh_in.corrected else 0.0,
        scales=(weigh_in.scale_set_id, corrected_by),
        before=before,
    )


def _shares(weigh_ins: Sequence[WeighIn], total: Mean) -> Shares | None:
    if any(w.lf is None for w in weigh_ins):
        return None
    means = [
        math.fsum(part * w.counted(spot) for w, part in zip(weigh_ins, total.weights, strict=True))
        for spot in Corners._fields
    ]
    # Four independent pads make the total: each has half its uncertainty.
    return shares(Corners(*means), total.estimate.u / 2.0)
