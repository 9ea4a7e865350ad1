"""What events bring to a team's archive: its entries, and what officials wrote of its cars.

The record itself, with its chain of hashes, is the event's and is taken away there.
"""

from cars.exchange.queries.archive_kinds import ArchiveKind, Section
from events.models import (
    AgeAnswer,
    BallastCheck,
    BallastPhoto,
    Entry,
    EntryRun,
    Event,
    EventClass,
    Finding,
    ScaleSet,
    TechReading,
    Void,
    WeighIn,
)

_KG = {"u_total": "kg", "scatter": "kg", "u_correction": "kg"}

KINDS = (
    ArchiveKind(name="entries", model=Entry, section=Section.RECORD),
    ArchiveKind(name="entry_runs", model=EntryRun, section=Section.RECORD),
    ArchiveKind(name="age_answers", model=AgeAnswer, section=Section.RECORD),
    ArchiveKind(name="weigh_ins", model=WeighIn, section=Section.RECORD, units=_KG),
    ArchiveKind(name="ballast_checks", model=BallastCheck, section=Section.RECORD),
    ArchiveKind(
        name="ballast_photos",
        model=BallastPhoto,
        section=Section.RECORD,
        omit=frozenset({"picture", "small"}),
        pictures=("sha256", "picture"),
    ),
    ArchiveKind(name="tech_readings", model=TechReading, section=Section.RECORD),
    ArchiveKind(name="findings", model=Finding, section=Section.RECORD),
    ArchiveKind(name="voids", model=Void, section=Section.RECORD),
    ArchiveKind(name="event_classes", model=EventClass, section=Section.CLUB),
    ArchiveKind(name="events", model=Event, section=Section.CLUB),
    ArchiveKind(name="scale_sets", model=ScaleSet, section=Section.CLUB),
)

# Tables of events that hold nothing of one team, or that are the record itself.
NOT_OF_TEAM = {
    "events.RuleSet": "the club's rules",
    "events.Rule": "the club's rules; a finding has their words",
    "events.ScaleCheck": "of the club's scales; it is in the event's record",
    "events.Draw": "of an event's start list; it is in the event's record",
    "events.RecordChain": "the event's record, which is taken away with its hashes",
    "events.RecordLine": "the event's record, which is taken away with its hashes",
}
