"""Plausible readings: a car near its targets that moves a little every weekend.

Deterministic: the same car and weekend give the same figures. They are invented and no evidence.
"""

import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from clubsetup.quantities.writing import Style, show

Box = tuple[str, str]
POUND = 0.45359237
# What is not read to a step of the tool but counted or noted.
WORDS = {
    ("rear-rod-holes", "left"): "2nd from the top",
    ("rear-rod-holes", "right"): "2nd from the top",
    ("block-marks", "left"): "2 / 1",
    ("block-marks", "right"): "1 / 3",
}
DONE = (
    *(("steering-centred", "car"), ("pads-level", "car"), ("driver-seated", "car")),
    *(("ballast-fixed", "car"), ("ballast-labelled", "car"), ("nuts-bolts", "car")),
    *(("wheels-tight", spot) for spot in ("LF", "RF", "LR", "RR")),
    *(("brakes", "car"), ("throttle-free", "car"), ("fuel-tight", "car")),
)
# What a turn of a seat does: cross as a share, and the height there in steps of the tool.
CROSS_A_TURN = {"LF": -0.012, "RF": 0.012, "LR": 0.012, "RR": -0.012}
HEIGHT_A_TURN = 2
STEADY = {"spring-rate", "teeth-driving", "teeth-driven", "hand-angle"}


@dataclass(frozen=True)
class DemoTarget:
    """A target as the fixture has it: what it is read to, and how it is written."""

    kind: Kind
    unit: str
    target: Decimal
    tolerance: Decimal
    step: Decimal

    def write(self, steps_off: int) -> str:
        """The target and so many steps of the tool, as somebody would type it."""
        value = self.target + steps_off * self.step
        style: Style | None = "fraction" if self.kind is Kind.LENGTH else None
        shown = show(value, self.kind, unit=self.unit, style=style, denominator=32)
        return shown.bare if self.kind in (Kind.LENGTH, Kind.COUNT) else shown.text


@dataclass
class DemoCar:
    """One car through two seasons."""

    targets: Mapping[Box, DemoTarget]
    empty_mass: float  # kg, without driver and fuel
    seed: str
    off: dict[Box, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.random = random.Random(self.seed)  # noqa: S311 - figures of a demo
        self.cross = 0.0  # by which it is off, as a share
        # Some parts of a car move more than others, and always the same ones.
        self.loose = set(self.random.sample(sorted(self.targets), 3))

    def race(self) -> None:
        """A weekend: what is loose moves by an eighth, the rest by a sixteenth or not at all."""
        for box in self.targets:
            if box[0] in STEADY:
                continue
            reach = 3 if box in self.loose else 1
            chance = 0.8 if box in self.loose else 0.25
            if self.random.random() < chance:
                self.off[box] = self.off.get(box, 0) + self.random.randint(-reach, reach)

    def stand_changed(self, adjuster: str, spot: str, amount: Decimal, unit: str) -> None:
        """Something was changed at the track and stands so when the car is found."""
        if adjuster == "pressure":
            steps = (
                parse(f"{amount} {unit}", Kind.PRESSURE).value / self.targets[adjuster, spot].step
            )
            self._move((adjuster, spot), round(steps))
        elif adjuster == "spring-seat":
            self.cross += CROSS_A_TURN[spot] * float(amount)
            self._move(("ride-height", spot), round(HEIGHT_A_TURN * amount))

    def _move(self, box: Box, steps: int) -> None:
        self.off[box] = self.off.get(box, 0) + steps

    def set_up(self) -> None:
        """The bench: most of it back on target."""
        self.cross = 0.0
        for box in self.targets:
            self.off[box] = 0 if self.random.random() < 0.9 else self.random.choice((-1, 1))

    def readings(self, driver_mass: float, skip: int = 0) -> dict[str, str]:
        """What is typed on a sheet, by the name of its box; `skip` boxes are not taken."""
        typed = {
            f"{m}.{s}": target.write(self.off.get((m, s), 0))
            for (m, s), target in self.targets.items()
        }
        typed |= {f"{m}.{s}": words for (m, s), words in WORDS.items()}
        typed |= {f"{m}.{s}": "done" for m, s in DONE}
        typed |= self._weights(driver_mass)
        for name in self.random.sample(sorted(typed), skip):
            del typed[name]
        return typed

    def _weights(self, driver_mass: float) -> dict[str, str]:
        def near(target: float, spread: float) -> float:
            return target + self.random.gauss(0, spread)

        total = self.empty_mass + driver_mass
        left, rear, cross = near(0.59, 0.002), near(0.555, 0.002), near(0.56, 0.004) + self.cross
        lr = (left + rear + cross - 1) * total / 2
        corners = {
            "LF": left * total - lr,
            "RF": cross * total - lr,
            "LR": lr,
            "RR": rear * total - lr,
        }
        return {
            f"weight.{spot}": f"{round(mass / POUND * 5) / 5:.1f}" for spot, mass in corners.items()
        }


def demo_target(kind: Kind, target: str, tolerance: str, step: Decimal) -> DemoTarget:
    """A fixture's target; its unit is the one typed."""
    given = parse(target, kind)
    within = parse(tolerance, kind)
    return DemoTarget(kind, given.unit, given.value, within.value, step)
