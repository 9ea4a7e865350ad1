"""A chassis, its baseline and a car of the Wrens, made by the actions."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from cars.baselines.actions.baselines import Target, publish_baseline, set_baseline_values
from cars.baselines.actions.baselines import draft_baseline as draft
from cars.baselines.actions.chassis import add_chassis
from cars.garage.actions.cars import add_car
from cars.models import Baseline, BaselineValue, Car, Chassis, Measure, Sheet
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, parse
from tests.people import People

# An invented car: mm and N/mm.
GEOMETRY: dict[str, Any] = {
    "wheelbase_left": 1174.75,
    "wheelbase_right": 1187.45,
    "track_front": 762.0,
    "track_rear": 800.1,
    "spring_y": [280.0, -280.0, 300.0, -300.0],
    "spring_rate": [17.5, 19.3, 17.5, 19.3],
    "motion_ratio": [0.9, 0.9, 0.9, 0.9],
    "thread": [2.0, 2.0, 2.0, 2.0],
    "tyre_rate": [90.0, 90.0, 90.0, 90.0],
    "height_points": [[1000.0, 250.0], [1000.0, -250.0], [100.0, 250.0], [100.0, -250.0]],
}

TARGETS = {
    "ride-height.LF": ("2 1/4", "1/16"),
    "ride-height.RF": ("2 3/8", "1/16"),
    "ride-height.LR": ("2 1/4", "1/16"),
    "ride-height.RR": ("2 1/2", "1/16"),
    "pressure.LF": ("9", "0.5"),
    "pressure.RR": ("14", "0.5"),
    "wheelbase.left": ("46 1/4", "1/8"),
    "wheelbase.right": ("46 3/4", "1/8"),
    "lead.car": ("1/2", "1/16"),
    "cross.car": ("52", "0.5"),
    "left-share.car": ("55", "0.5"),
}


def typed(measure: Measure | str, text: str) -> Typed:
    """Text as a figure of the measure, in inches and pounds."""
    kind = measure.kind if isinstance(measure, Measure) else measure
    return parse(text, Kind(kind))


@dataclass
class Garage:
    """What stands in it."""

    chassis: Chassis
    baseline: Baseline
    car: Car

    def sheet(self, by: User, role: str = "found", **given: Any) -> Sheet:
        """An open sheet of the car."""
        return open_sheet(
            by=by, car=self.car, role=role, made_on=date(2026, 3, 14), surface="paved", **given
        )


def set_target(*, by: User, baseline: Baseline, **given: Any) -> BaselineValue:
    """Sets one target of a draft."""
    (value,) = set_baseline_values(by=by, baseline=baseline, targets=[Target(**given)])
    return value


def published(by: User, chassis: Chassis, targets: dict[str, tuple[str, str]]) -> Baseline:
    """A baseline in force."""
    baseline = draft(by=by, chassis=chassis, surface="paved", note="First one.")
    measures = Measure.objects.in_bulk()
    rows = []
    for name, (target, tolerance) in targets.items():
        slug, spot = name.split(".")
        measure = measures[slug]
        rows.append(
            Target(
                measure=measure,
                spot=spot,
                target=typed(measure, target),
                tolerance=typed(measure, tolerance),
                source="maker",
            )
        )
    set_baseline_values(by=by, baseline=baseline, targets=rows)
    return publish_baseline(by=by, baseline=baseline)


def make_garage(people: People) -> Garage:
    """The steward keeps the chassis, the chief adds the car."""
    with viewing_as(people.steward.pk):
        chassis = add_chassis(
            by=people.steward, club=people.club, name="Osprey 6", geometry=GEOMETRY
        )
        baseline = published(people.steward, chassis, TARGETS)
    with viewing_as(people.chief.pk):
        car = add_car(
            by=people.chief,
            team=people.team,
            number="7",
            name="Blue",
            chassis=chassis,
            baseline=baseline,
            since=date(2025, 3, 1),
        )
    return Garage(chassis, baseline, car)
