from cars.models.advice import Advice, AdviceReply
from cars.models.ballast import BallastMount, BallastPiece
from cars.models.baseline import Baseline, BaselineValue
from cars.models.car import Car, Ownership
from cars.models.catalogue import Measure, Spot, Step
from cars.models.chassis import Chassis
from cars.models.closed_figures import ClosedFigures
from cars.models.comparison import Comparison
from cars.models.fitted import PartFitted
from cars.models.handover import HandedRun, HandedSheet, Handover
from cars.models.imported_archive import ImportedArchive
from cars.models.imports import Import, ImportColumns
from cars.models.own_target import OwnTarget
from cars.models.part import Part, PartCode
from cars.models.part_life import PartLimit, PartStart
from cars.models.plan import CalibrationReset, Plan
from cars.models.run import Feel, Laps, Run, RunDetails, Weather
from cars.models.run_readings import RunPart, RunReading
from cars.models.school_day import Outing, SchoolDay
from cars.models.sheet import Change, Comment, Reading, Sheet
from cars.models.suggestion import Suggestion, SuggestionTable
from cars.models.target_source import SheetTargetSource
from cars.models.track_change import TrackChange, TrackReading

__all__ = [
    "Advice",
    "AdviceReply",
    "BallastMount",
    "BallastPiece",
    "Baseline",
    "BaselineValue",
    "CalibrationReset",
    "Car",
    "Change",
    "Chassis",
    "ClosedFigures",
    "Comment",
    "Comparison",
    "Feel",
    "HandedRun",
    "HandedSheet",
    "Handover",
    "Import",
    "ImportColumns",
    "ImportedArchive",
    "Laps",
    "Measure",
    "Outing",
    "OwnTarget",
    "Ownership",
    "Part",
    "PartCode",
    "PartFitted",
    "PartLimit",
    "PartStart",
    "Plan",
    "Reading",
    "Run",
    "RunDetails",
    "RunPart",
    "RunReading",
    "SchoolDay",
    "Sheet",
    "SheetTargetSource",
    "Spot",
    "Step",
    "Suggestion",
    "SuggestionTable",
    "TrackChange",
    "TrackReading",
    "Weather",
]
