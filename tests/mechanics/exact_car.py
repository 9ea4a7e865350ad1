"""The same car with finite rotations and weight that leans: what the linear model leaves out.

A rigid frame that heaves, rolls and pitches by finite angles about a sideways restraint
at a chosen height; rigid axles that heave and roll by finite angles; coil springs that
keep their straight line between two points; gravity on a centre of mass that moves
sideways when the car leans. Equilibrium is where the energy is stationary; its slope is
taken with a complex step, so to full precision. Derived for the test; no source.
"""

from typing import Any

import numpy as np
from scipy.optimize import root

from cars.mechanics import STANDARD_GRAVITY, Chassis

HUB = 130.0  # mm, height of axle and lower spring ends
SPRING = 200.0  # mm, length of the springs as the car stands


class ExactCar:
    """A car of motion ratio 1 that stands level with ``loads`` (kg) on its four springs."""

    def __init__(
        self, chassis: Chassis, loads: tuple[float, ...], restraint: float, mass_height: float
    ) -> None:
        self.chassis, self.restraint = chassis, restraint
        self.force = np.array(loads) * STANDARD_GRAVITY
        self.places = np.array(chassis.springs)
        self.rate, self.tyre = np.array(chassis.spring_rate), np.array(chassis.tyre_rate)
        middle = self.force @ self.places / self.force.sum()
        self.mass = np.array([*middle, mass_height])
        self.axles = self._axle_frames()
        self.offset = np.zeros(4)
        self.wheel_force = self._standing_wheels()

    def _axle_frames(self) -> list[tuple[np.ndarray, np.ndarray, float]]:
        wheels = np.array(self.chassis.wheels)
        ends = []
        for left, right in ((0, 1), (2, 3)):
            across = wheels[left] - wheels[right]
            length = float(np.hypot(*across))
            ends.append((0.5 * (wheels[left] + wheels[right]), across / length, length))
        return ends

    def _standing_wheels(self) -> np.ndarray:
        forces = []
        for end, pair in enumerate(((0, 1), (2, 3))):
            middle, across, length = self.axles[end]
            arms = (self.places[list(pair)] - middle) @ across
            push = self.force[list(pair)]
            forces += [push.sum() / 2 + push @ arms / length, push.sum() / 2 - push @ arms / length]
        return np.array(forces)

    def _frame_points(
        self, points: np.ndarray, heave: float, roll: float, pitch: float
    ) -> np.ndarray:
        pivot = np.array([0.5 * self.chassis.wheelbase, 0.0, self.restraint])
        about_x = np.array(
            [[1, 0, 0], [0, np.cos(roll), -np.sin(roll)], [0, np.sin(roll), np.cos(roll)]]
        )
        about_y = np.array(
            [[np.cos(pitch), 0, np.sin(pitch)], [0, 1, 0], [-np.sin(pitch), 0, np.cos(pitch)]]
        )
        turned: np.ndarray = (points - pivot) @ (about_y @ about_x).T
        placed: np.ndarray = turned + pivot + np.array([0, 0, 1]) * heave
        return placed

    def _axle_points(self, end: int, along: np.ndarray, heave: float, roll: float) -> np.ndarray:
        middle, across, _ = self.axles[end]
        flat = middle + np.outer(along * np.cos(roll), across)
        return np.column_stack([flat, HUB + heave + along * np.sin(roll)])

    def _wheel_rise(self, q: np.ndarray) -> np.ndarray:
        rises = []
        for end in (0, 1):
            half = np.array([0.5, -0.5]) * self.axles[end][2]
            rises.append(self._axle_points(end, half, q[3 + 2 * end], q[4 + 2 * end])[:, 2] - HUB)
        return np.concatenate(rises)

    def _energy(self, q: np.ndarray) -> complex:
        tops = np.column_stack([self.places, np.full(4, HUB + SPRING)])
        tops = self._frame_points(tops, *q[:3])
        feet = []
        for end, pair in enumerate(((0, 1), (2, 3))):
            middle, across, _ = self.axles[end]
            along = (self.places[list(pair)] - middle) @ across
            feet.append(self._axle_points(end, along, q[3 + 2 * end], q[4 + 2 * end]))
        length = np.sqrt(((tops - np.concatenate(feet)) ** 2).sum(axis=1))
        squeeze = self.force / self.rate + SPRING - length + self.offset
        tyres = self.wheel_force / self.tyre - self._wheel_rise(q)
        height = self._frame_points(self.mass[None], *q[:3])[0, 2]
        stored = 0.5 * (self.rate * squeeze**2).sum() + 0.5 * (self.tyre * tyres**2).sum()
        energy: complex = stored + self.force.sum() * height
        return energy

    def _slope(self, q: np.ndarray) -> np.ndarray:
        steps = q + 1e-30j * np.eye(7)
        return np.array([self._energy(step).imag for step in steps]) / 1e-30

    def load_change(self, corner: int, offset: float) -> np.ndarray:
        """Change of the four wheel loads in kg for a seat offset in mm."""
        self.offset = np.zeros(4)
        assert np.abs(self._slope(np.zeros(7))).max() < 1e-6 * self.force.sum()
        self.offset[corner] = offset
        # The stubs spell the option maxffev; SciPy does not.
        options: Any = {"maxfev": 4000}
        found = root(self._slope, np.zeros(7), tol=1e-12, options=options)
        assert np.abs(self._slope(found.x)).max() < 1e-6 * self.force.sum(), found.message
        newtons: np.ndarray = -self.tyre * self._wheel_rise(found.x)
        return newtons / STANDARD_GRAVITY
