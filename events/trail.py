"""How the audit trail tells what was done around events."""

from teams.queries.trail import say

for did, kind, words in (
    ("entered", "events.entry", "entered a car"),
    ("entered_by_hand", "events.entry", "entered a car at the scales"),
    ("renumbered", "events.entry", "changed an entry's number"),
    ("withdrew", "events.entry", "withdrew an entry"),
    ("restored", "events.entry", "brought a withdrawn entry back"),
    ("weighed", "events.weighin", "weighed a car"),
    ("checked_ballast", "events.ballastcheck", "looked at ballast"),
    ("photographed", "events.ballastphoto", "photographed a piece of ballast"),
    ("measured", "events.techreading", "measured a car"),
    ("planned", "events.event", "planned an event"),
    ("published_findings", "events.event", "published an event's findings"),
    ("withdrew_findings", "events.event", "withheld an event's findings"),
    ("set_corrections", "events.scaleset", "said whether corrections are applied"),
):
    say(did, kind, words)
