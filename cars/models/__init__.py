from cars.models.ballast import BallastMount, BallastPiece
from cars.models.baseline import Baseline, BaselineValue
from cars.models.car import Car, Ownership
from cars.models.catalogue import Measure, Spot, Step
from cars.models.chassis import Chassis
from cars.models.fitted import PartFitted
from cars.models.part import Part, PartCode
from cars.models.plan import CalibrationReset, Plan
from cars.models.preference import Preference
from cars.models.sheet import Change, Comment, Reading, Sheet
from cars.models.target_source import SheetTargetSource

__all__ = [
    "BallastMount",
    "BallastPiece",
    "Baseline",
    "BaselineValue",
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
    "SheetTargetSource",
    "Spot",
    "Step",
]
