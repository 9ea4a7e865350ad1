"""One weighed car as numbers, ready to be asked many times what turns would do.

Pure: it holds no rows and asks no database, so that it can travel with a page and come back.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cars.mechanics import CORNER_NAMES, Calibrated, Corners, Noise, response, shares
from cars.mechanics.calibration import Share
from cars.mechanics.observations import difference_covariance
from cars.mechanics.turnplan import Room, turns_of_room

N = len(CORNER_NAMES)
SHARES: tuple[Share, ...] = ("cross", "left", "rear")
PAIRS = [(j, k) for j in range(N) for k in range(j, N)]


@dataclass(frozen=True, slots=True)
class Prediction:
    """What turns are predicted to give: kg, mm and fractions, with standard uncertainties.

    The uncertainties are those of the next readings: what is not known of the car, and the
    scales and the tape too. ``lifted`` corners would come off their pads, ``beyond`` have not
    the thread. A prediction: weigh again.
    """

    turns: Corners
    loads_before: Corners
    heights_before: Corners | None
    loads: Corners
    u_loads: Corners
    heights: Corners | None
    u_heights: Corners
    cross: float
    u_cross: float
    left: float
    u_left: float
    rear: float
    u_rear: float
    lifted: tuple[str, ...]
    beyond: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LinearResponse:
    """A car's loads (kg) and heights (mm) now, and what a turn does to them and to the shares.

    ``per_turn`` has eleven rows of four: loads, heights, SHARES. ``spread`` has eleven rows of
    ten, the upper halves of the quadratic forms n'An that are the variances of what is not known
    of the car; ``reading`` the eleven variances of two weighings. ``room`` is plus, then minus.
    """

    loads: tuple[float, ...]
    heights: tuple[float, ...] | None
    per_turn: tuple[tuple[float, ...], ...]
    spread: tuple[tuple[float, ...], ...]
    reading: tuple[float, ...]
    room: tuple[float, ...]

    def predict(self, turns: Corners) -> Prediction:
        """loads + L n, heights + H n, shares + x n; u^2 = n'An + that of two weighings.

        Exact for the linear model (JCGM 100:2008, 5.1.2, for the uncertainties). Raises BadInput
        for turns no seat makes.
        """
        n = Corners(*(_sane(c, t) for c, t in zip(CORNER_NAMES, turns, strict=True)))
        moved = [math.fsum(a * t for a, t in zip(row, n, strict=True)) for row in self.per_turn]
        u = [
            math.sqrt(max(_form(row, n), 0.0) + of)
            for row, of in zip(self.spread, self.reading, strict=True)
        ]
        before = Corners.of(self.loads)
        loads = _sum(before, moved[:N])
        now = shares(before)
        heights = None if self.heights is None else Corners.of(self.heights)
        return Prediction(
            turns=n,
            loads_before=before,
            heights_before=heights,
            loads=loads,
            u_loads=Corners.of(u[:N]),
            heights=None if heights is None else _sum(heights, moved[N : 2 * N]),
            u_heights=Corners.of(u[N : 2 * N]),
            cross=now.cross + moved[2 * N],
            u_cross=u[2 * N],
            left=now.left + moved[2 * N + 1],
            u_left=u[2 * N + 1],
            rear=now.rear + moved[2 * N + 2],
            u_rear=u[2 * N + 2],
            lifted=tuple(c for c, load in zip(CORNER_NAMES, loads, strict=True) if load < 0.0),
            beyond=self._beyond(n),
        )

    def _beyond(self, turns: Corners) -> tuple[str, ...]:
        limits = zip(CORNER_NAMES, turns, self.room[:N], self.room[N:], strict=True)
        return tuple(c for c, turned, plus, minus in limits if not -minus <= turned <= plus)

    @classmethod
    def of_plain(cls, plain: Sequence[Any]) -> "LinearResponse":
        """From `plain`."""
        loads, heights, per_turn, spread, reading, room = plain
        return cls(
            tuple(loads),
            None if heights is None else tuple(heights),
            tuple(map(tuple, per_turn)),
            tuple(map(tuple, spread)),
            tuple(reading),
            tuple(room),
        )

    @property
    def plain(self) -> list[Any]:
        """As lists of numbers, eight digits each."""
        return [
            _short(self.loads),
            None if self.heights is None else _short(self.heights),
            [_short(row) for row in self.per_turn],
            [_short(row) for row in self.spread],
            _short(self.reading),
            _short(self.room),
        ]


def linear_response(
    calibrated: Calibrated, loads: Corners, heights: Corners | None, *, noise: Noise, room: Room
) -> LinearResponse:
    """All that predictions need, from the car as it is known.

    A variance n'An is known by what it is for each corner turned once and each two together:
    2 A_jk = u^2(e_j + e_k) - u^2(e_j) - u^2(e_k).
    """
    ones = [_unit(j) for j in range(N)]
    columns = [_moved(calibrated, loads, one) for one in ones]
    alone = [_variances(calibrated, loads, one) for one in ones]
    rows = 2 * N + len(SHARES)
    spread = [[0.0] * len(PAIRS) for _ in range(rows)]
    for place, (j, k) in enumerate(PAIRS):
        both = alone[j] if j == k else _variances(calibrated, loads, _sum(ones[j], ones[k]))
        for row in range(rows):
            apart = 0.0 if j == k else alone[j][row] + alone[k][row]
            spread[row][place] = both[row] - apart
    weighings = difference_covariance(response(calibrated.chassis), noise).diagonal().tolist()
    both_times = [calibrated.share_change(share, ones[0], loads, noise) for share in SHARES]
    return LinearResponse(
        loads=tuple(loads),
        heights=None if heights is None else tuple(heights),
        per_turn=tuple(zip(*columns, strict=True)),
        spread=tuple(map(tuple, spread)),
        reading=(*weighings, *(each.u_reading**2 - each.u**2 for each in both_times)),
        room=(*room.plus, *room.minus),
    )


def _unit(corner: int) -> Corners:
    return Corners.of(1.0 if place == corner else 0.0 for place in range(N))


def _moved(calibrated: Calibrated, loads: Corners, turns: Corners) -> list[float]:
    change = calibrated.change(turns)
    moved = (calibrated.share_change(share, turns, loads).change for share in SHARES)
    return [*change.loads, *change.heights, *moved]


def _variances(calibrated: Calibrated, loads: Corners, turns: Corners) -> list[float]:
    change = calibrated.change(turns)
    of_shares = (calibrated.share_change(share, turns, loads).u for share in SHARES)
    return [each * each for each in (*change.u_loads, *change.u_heights, *of_shares)]


def _form(row: Sequence[float], turns: Corners) -> float:
    return math.fsum(a * turns[j] * turns[k] for a, (j, k) in zip(row, PAIRS, strict=True))


def _sane(corner: str, turns: float) -> float:
    return math.copysign(turns_of_room(f"turns {corner}", abs(turns)), turns)


def _sum(one: Sequence[float], other: Sequence[float]) -> Corners:
    return Corners.of(a + b for a, b in zip(one, other, strict=True))


def _short(values: Sequence[float]) -> list[float]:
    return [float(f"{value:.8g}") for value in values]
