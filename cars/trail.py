"""How the audit trail tells what was done to cars, sheets and baselines."""

from teams.queries.trail import say

for did, kind, words in (
    ("took", "cars.sheet", "took readings"),
    ("headed", "cars.sheet", "changed a sheet's head"),
    ("commented", "cars.sheet", "left a comment on a sheet"),
    ("copied", "cars.baseline", "copied a baseline to a new draft"),
    ("set_target", "cars.baseline", "set a baseline's targets"),
    ("removed_target", "cars.baseline", "took a target off a baseline"),
    ("marked", "cars.part", "marked a part"),
    ("moved", "cars.ballastpiece", "moved a piece of ballast"),
    ("retired", "cars.ballastpiece", "retired a piece of ballast"),
    ("added", "cars.ballastpiece", "added a piece of ballast"),
    ("added", "cars.ballastmount", "added a place for ballast"),
):
    say(did, kind, words)
