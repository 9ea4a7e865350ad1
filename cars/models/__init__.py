from cars.models.ballast import BallastMount, BallastPiece
from cars.models.baseline import Baseline, BaselineValue
from cars.models.bench import BenchTarget
from cars.models.car import Car, Ownership
from cars.models.catalogue import Measure, Spot, Step
from cars.models.chassis import Chassis
from cars.models.fitted import PartFitted
from cars.models.part import Part, PartCode
from cars.models.plan import CalibrationReset, Plan
from cars.models.preference import Preference
from cars.models.sheet import Change, Comment, Reading, Sheet

__all__ = [
    "BallastMount",
    "BallastPiece",
    "Baseline",
    "BaselineValue",
    "BenchTarget",
    "CalibrationReset",
    "Car",
    "Change",
    "Chassis",
    "Comment",
    "Measure",
    "Ownership",
    "Part",
    "PartCode",
    "PartFitted",
    "Plan",
    "Preference",
    "Reading",
    "Sheet",
    "Spot",
    "Step",
]
