"""The same car built in PyNiteFEA, a general frame program that knows nothing of cars.

Frame and axles are stars of very stiff members, tyres are vertical springs on fixed
ground nodes. A motion ratio is a real rocker: it turns on a pin in the frame, the axle
pushes its long arm up at 100 mm from the pin, and 100 mm times the ratio behind the pin
its short arm comes down on the coil spring, which so travels that ratio of the axle. The
wheel of an independent axle pushes the rocker itself, as a swing arm does. A seat offset
p is a spring made longer by p: a pair of forces k p at its ends. PyNite's axes: X
forward, Y up, Z to the right.
"""

import numpy as np
from Pynite import FEModel3D

from cars.mechanics import STANDARD_GRAVITY, Chassis

NAMES = ("LF", "RF", "LR", "RR")
DECK, SEAT, ARM = 300.0, 100.0, 100.0  # mm: heights of frame and spring seats, lever arm
RIGID = 1e9  # N/mm, the push rods


class FrameProgram:
    """One car in PyNite; load combinations for four turns and for a weight."""

    def __init__(self, chassis: Chassis, weight_at: tuple[float, float] = (600.0, 50.0)) -> None:
        self.chassis = chassis
        self.model = FEModel3D()
        self.model.add_material("stiff", 2e5, 8e4, 0.3, 0.0)
        self.model.add_section("thick", 1e6, 1e10, 1e10, 1e10)
        self._frame_and_tyres(weight_at)
        self._axle("front", chassis.front_axle, (0, 1))
        self._axle("rear", chassis.rear_axle, (2, 3))
        for corner in range(4):
            self._corner(corner)
        self._node_loads()

    def _node(self, name: str, x: float, y: float, up: float) -> None:
        self.model.add_node(name, x, up, -y)

    def _stiff(self, name: str, start: str, end: str) -> None:
        self.model.add_member(name, start, end, "stiff", "thick")

    def _frame_and_tyres(self, weight_at: tuple[float, float]) -> None:
        model = self.model
        # Well above the deck, so that no member is so short that it spoils the arithmetic.
        self._node("frame", 0.5 * self.chassis.wheelbase, 0.0, DECK + 200.0)
        model.def_support("frame", True, False, True, False, True, False)
        self._node("weight", *weight_at, DECK)
        self._stiff("to weight", "frame", "weight")
        for corner, name in enumerate(NAMES):
            self._node(f"height {name}", *self.chassis.height_points[corner], DECK)
            self._stiff(f"to height {name}", "frame", f"height {name}")
            x, y = self.chassis.wheels[corner]
            self._node(f"wheel {name}", x, y, 0.0)
            self._node(f"ground {name}", x, y, -130.0)
            model.def_support(f"ground {name}", True, True, True, True, True, True)
            rate = self.chassis.tyre_rate[corner]
            model.add_spring(f"tyre {name}", f"ground {name}", f"wheel {name}", rate)

    def _axle(self, end: str, kind: str, corners: tuple[int, int]) -> None:
        if kind == "independent":
            for corner in corners:
                free_up = (True, False, True, True, True, True)
                self.model.def_support(f"wheel {NAMES[corner]}", *free_up)
            return
        left, right = (self.chassis.wheels[corner] for corner in corners)
        x, y = np.mean([left, right], axis=0)
        self._node(f"{end} axle", x, y, 0.0)
        self.model.def_support(f"{end} axle", True, False, True, False, True, True)
        for corner in corners:
            name = NAMES[corner]
            self._stiff(f"axle to wheel {name}", f"{end} axle", f"wheel {name}")
            self._node(f"push {name}", *self.chassis.springs[corner], 0.0)
            self._stiff(f"axle to push {name}", f"{end} axle", f"push {name}")

    def _corner(self, corner: int) -> None:
        name, (x, y) = NAMES[corner], self.chassis.springs[corner]
        model, pivot = self.model, x - ARM
        tip = pivot - ARM * self.chassis.motion_ratio[corner]
        self._node(f"mount {name}", pivot, y + ARM, DECK)
        self._stiff(f"to mount {name}", "frame", f"mount {name}")
        self._node(f"pivot {name}", pivot, y, DECK)
        self._stiff(f"pin {name}", f"mount {name}", f"pivot {name}")
        model.def_releases(f"pin {name}", Rxj=True)
        self._node(f"pushed {name}", x, y, DECK)
        self._stiff(f"long arm {name}", f"pivot {name}", f"pushed {name}")
        self._node(f"tip {name}", tip, y, DECK)
        self._stiff(f"short arm {name}", f"pivot {name}", f"tip {name}")
        bottom = f"push {name}" if f"push {name}" in model.nodes else f"wheel {name}"
        model.add_spring(f"rod {name}", bottom, f"pushed {name}", RIGID)
        self._node(f"seat {name}", tip, y, SEAT)
        self._stiff(f"to seat {name}", "frame", f"seat {name}")
        rate = self.chassis.spring_rate[corner]
        model.add_spring(f"coil {name}", f"seat {name}", f"tip {name}", rate)

    def _node_loads(self) -> None:
        model = self.model
        for corner, name in enumerate(NAMES):
            push = self.chassis.spring_rate[corner] * self.chassis.thread[corner]
            model.add_node_load(f"tip {name}", "FY", push, case=f"turn {name}")
            model.add_node_load(f"seat {name}", "FY", -push, case=f"turn {name}")
            model.add_load_combo(f"turn {name}", {f"turn {name}": 1.0})
        model.add_node_load("weight", "FY", -STANDARD_GRAVITY, case="weight")
        model.add_load_combo("weight", {"weight": 1.0})

    def raise_pad(self, corner: int, by: float) -> None:
        """Lift the ground under one tyre, in every load combination alike."""
        self.model.def_node_disp(f"ground {NAMES[corner]}", "DY", by)

    def solve(self) -> None:
        self.model.analyze_linear(check_stability=False, sparse=False)

    def loads(self, combo: str) -> np.ndarray:
        """Change of the four tyre loads in kg."""
        nodes = [self.model.nodes[f"ground {name}"] for name in NAMES]
        return np.array([node.RxnFY[combo] for node in nodes]) / STANDARD_GRAVITY

    def heights(self, combo: str) -> np.ndarray:
        """Change of the four ride heights in mm."""
        nodes = [self.model.nodes[f"height {name}"] for name in NAMES]
        return np.array([node.DY[combo] for node in nodes])
