"""Ballast pieces, the mounts that hold them, and what a plan for them says."""

from collections.abc import Iterable
from dataclasses import dataclass

from cars.mechanics.corners import Corners
from cars.mechanics.errors import BadInput, OutOfReach, finite, not_negative, positive
from cars.mechanics.goals import Goal, Miss
from cars.mechanics.loads import Shares

HEAVIEST_PIECE = 1000.0  # kg; nothing heavier is meant


@dataclass(frozen=True, slots=True)
class Mount:
    """A place that holds ballast: (x, y) in mm on the frame, ``capacity`` in kg."""

    name: str
    x: float
    y: float
    capacity: float

    def __post_init__(self) -> None:
        """Name the mount whose figures cannot be."""
        for field in ("x", "y"):
            value = finite(f"mount {self.name} {field}", getattr(self, field))
            object.__setattr__(self, field, value)
        capacity = not_negative(f"mount {self.name} capacity", self.capacity, HEAVIEST_PIECE)
        object.__setattr__(self, "capacity", capacity)


@dataclass(frozen=True, slots=True)
class Piece:
    """A ballast piece: ``mass`` and its standard uncertainty ``u`` in kg.

    ``fitted`` names the mount it is on, None where it is loose; one that ``stays`` may
    not be moved or taken off.
    """

    name: str
    mass: float
    u: float = 0.0
    fitted: str | None = None
    stays: bool = False

    def __post_init__(self) -> None:
        """Name the piece whose figures cannot be."""
        mass = positive(f"piece {self.name} mass", self.mass, HEAVIEST_PIECE)
        object.__setattr__(self, "mass", mass)
        spread = not_negative(f"piece {self.name} u", self.u, HEAVIEST_PIECE)
        object.__setattr__(self, "u", spread)
        if self.stays and self.fitted is None:
            raise BadInput(f"piece {self.name}", "cannot stay where it is: it is not fitted")


@dataclass(frozen=True, slots=True)
class ShareTargets:
    """Left, rear and cross as fractions of the total, each optional."""

    left: Goal | None = None
    rear: Goal | None = None
    cross: Goal | None = None


@dataclass(frozen=True, slots=True)
class Handling:
    """One piece to add (``before`` None), take off (``after`` None) or move."""

    piece: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class BallastPlan:
    """Which piece goes where, and what that is predicted to give.

    ``placed`` lists (piece, mount) for all that is on the car afterwards, ``handling`` what
    changes. ``loads`` in kg and ``now`` are as the scales would read with the fuel that is
    in it now, ``at_weighing`` with the fuel at the weighing; ``weight`` kg at the weighing
    with its standard uncertainty ``u_weight``, ``over`` = weight - minimum, ``excess`` =
    weight - minimum - margin; ``under`` the probability that the car is below the
    minimum. ``misses`` of the share targets in tolerances; ``height_change`` in mm.
    ``unusable`` names loose pieces no mount can hold. ``proven`` is False where the time
    ran out before the shares were proven nearest.
    """

    placed: tuple[tuple[str, str], ...]
    handling: tuple[Handling, ...]
    loads: Corners
    now: Shares
    at_weighing: Shares
    weight: float
    u_weight: float
    over: float
    excess: float
    under: float
    misses: tuple[Miss, ...]
    height_change: Corners
    unusable: tuple[str, ...] = ()
    proven: bool = True


class BallastOutOfReach(OutOfReach):
    """All that the mounts can hold is too little; ``nearest`` plan is ``short`` by so many kg."""

    def __init__(self, nearest: BallastPlan, short: float) -> None:
        """Keep the nearest plan, so that a page can show it."""
        super().__init__(
            "ballast",
            f"minimum and margin are out of reach by {short:.2f} kg with these pieces and mounts",
        )
        self.nearest = nearest
        self.short = short


def check_fit(pieces: Iterable[Piece], mounts: Iterable[Mount]) -> None:
    """Refuse names used twice, mounts nobody knows and mounts that hold too much already."""
    room: dict[str, float] = {}
    for mount in mounts:
        if mount.name in room:
            raise BadInput(f"mount {mount.name}", "is there twice")
        room[mount.name] = mount.capacity
    seen: set[str] = set()
    for piece in pieces:
        if piece.name in seen:
            raise BadInput(f"piece {piece.name}", "is there twice")
        seen.add(piece.name)
        if piece.fitted is None:
            continue
        if piece.fitted not in room:
            raise BadInput(f"piece {piece.name}", f"no mount is called {piece.fitted!r}")
        room[piece.fitted] -= piece.mass
        if room[piece.fitted] < -1e-9:
            raise BadInput(
                f"mount {piece.fitted}",
                f"cannot hold piece {piece.name}: {-room[piece.fitted]:.2f} kg over its capacity",
            )
