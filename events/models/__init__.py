from events.models.age import AgeAnswer
from events.models.draw import Draw
from events.models.entry import Entry
from events.models.entry_run import EntryRun
from events.models.event import Event, EventClass
from events.models.photo import BallastPhoto
from events.models.record_chain import RecordChain, RecordLine
from events.models.rule_set import Rule, RuleSet
from events.models.scale_check import ScaleCheck
from events.models.scales import ScaleSet
from events.models.tech import BallastCheck, Finding, TechReading, Void, WeighIn

__all__ = [
    "AgeAnswer",
    "BallastCheck",
    "BallastPhoto",
    "Draw",
    "Entry",
    "EntryRun",
    "Event",
    "EventClass",
    "Finding",
    "RecordChain",
    "RecordLine",
    "Rule",
    "RuleSet",
    "ScaleCheck",
    "ScaleSet",
    "TechReading",
    "Void",
    "WeighIn",
]
