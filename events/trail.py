"""How the trail tells what was done around events."""

from decimal import Decimal
from typing import Any

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import tell
from events.models import WeighIn
from events.rules import rule_from
from teams.presenters.trail import TrailWords

WORDS = TrailWords()

for did, kind, words in (
    ("read", "events.entry", "read an entry"),
    ("read", "events.weighin", "read a weigh-in"),
    ("read", "events.finding", "read a finding"),
    ("entered", "events.entry", "entered a car"),
    ("entered_walk_in", "events.entry", "entered a car at the scales"),
    ("entered_by_hand", "events.entry", "entered a car at the scales"),
    ("confirmed", "events.entry", "confirmed an entry made at the scales"),
    ("told_age", "events.entry", "was told whether a driver is eligible by age"),
    ("renumbered", "events.entry", "changed an entry's number"),
    ("withdrew", "events.entry", "withdrew an entry"),
    ("restored", "events.entry", "brought a withdrawn entry back"),
    ("tied", "cars.run", "said which entry a run belongs to"),
    ("untied", "cars.run", "said that a run belongs to no entry"),
    ("weighed", "events.weighin", "weighed a car"),
    ("checked_ballast", "events.ballastcheck", "looked at ballast"),
    ("photographed", "events.ballastphoto", "photographed a piece of ballast"),
    ("measured", "events.techreading", "measured a car"),
    ("found", "events.entry", "held to its rules"),
    ("drew", "events.draw", "drew cars for a check"),
    ("voided", "events.void", "voided a record"),
    ("erased_words", "events.event", "erased the words of a record"),
    ("planned", "events.event", "planned an event"),
    ("published_findings", "events.event", "published an event's findings"),
    ("withdrew_findings", "events.event", "withheld an event's findings"),
    ("set_corrections", "events.scaleset", "said whether corrections are applied"),
):
    WORDS.say(did, kind, words)


def _weighed(detail: dict[str, Any], units: Units) -> str:
    """'280.4 lb, before the race'; a line of before kept no stage."""
    total = tell(Decimal(detail["total"]), Kind.MASS, unit=units.mass).pretty
    stage = WeighIn.Stage(detail["stage"]).label.lower() if "stage" in detail else ""
    return ", ".join(part for part in (total, stage) if part)


def _rule(detail: dict[str, Any], units: Units) -> str:
    """'At least 320 lb with the driver'; nothing of a rule that can no longer be read."""
    try:
        return rule_from(detail["kind"], detail["parameters"]).words(units)
    except (KeyError, TypeError, ValueError):
        return str(detail.get("kind", "")).replace("_", " ")


WORDS.detail("weighed", "events.weighin", _weighed)
for did in ("added", "changed", "edited", "removed"):
    WORDS.detail(did, "events.rule", _rule)


def _entry(entry: Any) -> str:
    erased = entry.is_confirmed and entry.driver_id is None
    return f"{entry.number if erased else entry}, {entry.event}"


WORDS.name("events.entry", _entry, "event")
for kind in ("weighin", "ballastcheck", "ballastphoto", "techreading", "void"):
    WORDS.name(f"events.{kind}", lambda row: _entry(row.entry), "entry__event")
WORDS.name("events.event", str)
WORDS.name("events.eventclass", lambda row: f"{row}, {row.event}", "race_class", "event")
WORDS.name("events.ruleset", str, "race_class")
WORDS.name("events.rule", lambda row: str(row.rule_set), "rule_set__race_class")
WORDS.name("events.scaleset", str)
WORDS.name("events.scalecheck", lambda row: str(row.scale_set), "scale_set")
WORDS.name("events.draw", lambda row: str(row.event), "event")
