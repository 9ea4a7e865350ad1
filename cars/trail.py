"""How the trail tells what was done to cars, sheets and baselines."""

from decimal import Decimal
from typing import Any

from cars.figures.formatting import format_adjustment, format_amount
from clubsetup.quantities.units import Units
from teams.presenters.trail import TrailWords

WORDS = TrailWords()

for did, kind, words in (
    ("read", "cars.sheet", "read a sheet"),
    ("read", "cars.car", "read a car's page"),
    ("read", "cars.plan", "read a plan"),
    ("read", "cars.run", "read a run"),
    ("read", "cars.weather", "read the weather that was noted"),
    ("read", "cars.trackchange", "read what was changed at the track"),
    ("read", "cars.trackreading", "read a figure read at the track"),
    ("took", "cars.sheet", "took readings"),
    ("accepted", "cars.sheet", "accepted a plan for"),
    ("fitted", "cars.sheet", "said which part is on"),
    ("headed", "cars.sheet", "changed a sheet's date, driver or fuel"),
    ("commented", "cars.sheet", "wrote a comment on a sheet"),
    ("copied", "cars.baseline", "copied a baseline to a new draft"),
    ("set_target", "cars.baseline", "set a baseline's targets"),
    ("removed_target", "cars.baseline", "took a target off a baseline"),
    ("put_back", "cars.sheet", "put changes at the track back"),
    ("took_back", "cars.sheet", "took a change at the track back: it was never made"),
    ("imported", "cars.importedarchive", "brought an archive in"),
    ("compared", "cars.comparison", "put sheets side by side on paper"),
    ("noted", "cars.run", "noted a run"),
    ("corrected", "cars.run", "corrected a run"),
    ("struck", "cars.run", "struck a run"),
    ("felt", "cars.run", "noted how a run felt"),
    ("handed_over", "cars.run", "handed the phone to the driver after a run"),
    ("timed", "cars.run", "noted the laps of a run"),
    ("read_after", "cars.run", "took readings after a run"),
    ("fitted_in", "cars.run", "said which part was on in a run"),
    ("noted", "cars.weather", "noted the weather"),
    ("corrected", "cars.weather", "corrected the weather"),
    ("read", "cars.suggestiontable", "read a table of suggestions"),
    ("drafted", "cars.suggestiontable", "drafted a table of suggestions"),
    ("published", "cars.suggestiontable", "published a table of suggestions"),
    ("retired", "cars.suggestiontable", "retired a table of suggestions"),
    ("added_suggestion", "cars.suggestiontable", "added a suggestion"),
    ("changed_suggestion", "cars.suggestiontable", "changed a suggestion"),
    ("removed_suggestion", "cars.suggestiontable", "took a suggestion out"),
    ("moved_suggestion", "cars.suggestiontable", "moved a suggestion in its table"),
    ("threw_away", "cars.suggestiontable", "threw a draft of suggestions away"),
    ("read_at_track", "cars.sheet", "took readings at the track"),
    ("set_own_target", "cars.car", "set one of the team's own targets"),
    ("preferred", "cars.car", "set one of the team's own targets"),
    ("dropped_own_target", "cars.car", "dropped one of the team's own targets"),
    ("dropped", "cars.car", "dropped one of the team's own targets"),
    ("marked", "cars.part", "set the code of a part"),
    ("read", "cars.part", "read how long a part has run"),
    ("started", "cars.part", "said what a part came with"),
    ("limited", "cars.partlimit", "set a limit for parts"),
    ("unlimited", "cars.partlimit", "took a limit for parts away"),
    ("advised", "cars.car", "left advice on a car"),
    ("answered", "cars.advice", "answered advice"),
    ("ticked_off", "cars.advice", "ticked advice off"),
    ("read", "cars.advice", "read advice"),
    ("planned", "cars.schoolday", "planned a school day"),
    ("changed", "cars.schoolday", "changed the plan of a school day"),
    ("showed", "cars.schoolday", "showed the plan of a school day"),
    ("hid", "cars.schoolday", "hid the plan of a school day"),
    ("removed", "cars.schoolday", "took away the plan of a school day"),
    ("sent_out", "cars.schoolday", "put a car into the plan of a school day"),
    ("changed_outing", "cars.schoolday", "changed an outing of a school day"),
    ("removed_outing", "cars.schoolday", "took an outing of a school day out"),
    ("offered", "cars.car", "offered a car to its next owner"),
    ("withdrew_offer", "cars.car", "withdrew the offer of a car"),
    ("took_over", "cars.car", "took a car over from another team"),
    ("took_car_back", "cars.car", "took a car back"),
    ("read_file", "cars.import", "read a file in, and changed nothing yet"),
    ("chose_columns", "cars.import", "chose what the columns of a file are for"),
    ("confirmed", "cars.import", "confirmed an import"),
    ("brought_in", "cars.import", "brought runs or sheets in from a file"),
    ("dropped", "cars.import", "dropped a file that was not brought in"),
    ("withdrew", "cars.import", "withdrew an import with all that it brought in"),
    ("moved", "cars.ballastpiece", "moved a piece of ballast"),
    ("retired", "cars.ballastpiece", "retired a piece of ballast"),
    ("added", "cars.ballastpiece", "added a piece of ballast"),
    ("added", "cars.ballastmount", "added a place for ballast"),
):
    WORDS.say(did, kind, words)


def _sheet(sheet: Any) -> str:
    version = f", version {sheet.version}" if sheet.version > 1 else ""
    return f"car {sheet.car}, {str(sheet)[0].lower()}{str(sheet)[1:]}{version}"


def _change(detail: dict[str, Any], units: Units) -> str:
    change = Decimal(detail["amount"]), detail["unit"]
    amount = format_amount(*change, units, detail.get("typed", ""))
    return format_adjustment(detail["adjuster"], detail["spot"], amount)


WORDS.detail("changed", "cars.sheet", _change)
WORDS.say("changed_at_track", "cars.sheet", "changed something at the track")
WORDS.detail("changed_at_track", "cars.sheet", _change)
for did in ("added_suggestion", "changed_suggestion", "removed_suggestion", "moved_suggestion"):
    WORDS.detail(did, "cars.suggestiontable", _change)


def _feel(detail: dict[str, Any], _units: Units) -> str:
    if detail.get("handed_over"):
        return "said by the driver, to whom the phone was handed"
    return f"said by: {detail.get('said_by', '')}"


WORDS.detail("felt", "cars.run", _feel)


def _limit(detail: dict[str, Any], _units: Units) -> str:
    most = detail.get("most", "")
    return (
        f"{detail['sort']}, {most} {detail['per']}"
        if most
        else f"{detail['sort']}, {detail['per']}"
    )


for did in ("limited", "unlimited"):
    WORDS.detail(did, "cars.partlimit", _limit)
for did in ("sent_out", "changed_outing", "removed_outing"):
    WORDS.detail(did, "cars.schoolday", lambda detail, _units: f"car {detail['car']}")
# The sheet's own name says what it is.
WORDS.detail("opened", "cars.sheet", lambda _detail, _units: "")
# What it was is kept with the line, in mm and N/mm: figures for whoever mends it, not to be read.
WORDS.detail("edited", "cars.chassis", lambda _detail, _units: "")


# A part is not named: its code is the team's secret, and the trail lasts.
WORDS.name("cars.sheet", _sheet, "car")
WORDS.name("cars.run", lambda run: f"a run of car {run.car}", "car")
for kind in ("trackchange", "trackreading"):
    WORDS.name(f"cars.{kind}", lambda row: _sheet(row.sheet), "sheet__car")
WORDS.name("cars.suggestiontable", lambda table: f"version {table.version}")
WORDS.name("cars.advice", lambda advice: f"advice on car {advice.car}", "car")
WORDS.name("cars.schoolday", str)
WORDS.name("cars.weather", lambda _weather: "the weather")
WORDS.name("cars.car", lambda car: f"car {car}")
WORDS.name("cars.ballastpiece", str)
WORDS.name("cars.ballastmount", str, "chassis")
WORDS.name("cars.chassis", str)
WORDS.name("cars.baseline", str, "chassis")
