"""What goes with a car, as giver and receiver read it: the same page before both confirm."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo
from decimal import Decimal
from typing import Any

from cars.catalogue.adjusters import MARKS_SET
from cars.catalogue.queries import Catalogue, catalogue
from cars.figures.formatting import format_adjustment, format_box, format_kept_change
from cars.handover.presenters.run_lines import RunLines, run_lines
from cars.handover.queries.goods import CORNERS, shown
from cars.handover.queries.ticks import Tick, weight_within
from cars.models import Handover, Sheet
from clubsetup.clock.writing import day
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from teams.models import Surface

SORTS = {
    "driver": "Who drove",
    "note": "Note",
    "reason": "Why it was corrected",
    "comment": "Comment",
    "words": "Noted in words",
    "code": "Private code",
    "loads": "Shares with driver, and ballast",
    "plan": "Turn plan",
    "fitted": "Ballast fitted",
    "own-target": "Own target",
    "own-reason": "Why its own target",
    "run": "The run",
    "run-driver": "Who drove",
    "run-note": "What was noted",
    "run-damage": "Damage",
    "run-said": "What the driver said",
}
RATES = {
    "front": "Front springs",
    "rear": "Rear springs",
    "tyre": "Tyres",
    "thread": "Seat travel per turn",
}
SHARE_NAMES = {"left": "left", "rear": "rear", "cross": "cross"}


@dataclass(frozen=True, slots=True)
class SheetLines:
    """One sheet that goes along."""

    title: str
    facts: list[str]
    figures: list[tuple[str, str]]
    changes: list[str]
    targets: str
    target_figures: list[tuple[str, str]]
    own_targets: list[tuple[str, str]]
    words: list[str]


@dataclass(frozen=True, slots=True)
class PackageLines:
    """All that goes along."""

    sender: str
    number: str
    chassis: str
    geometry: list[tuple[str, str]]
    race_class: str
    history: str
    learned: list[str]
    own_targets: list[tuple[str, str]]
    fitted: list[str]
    sheets: list[SheetLines]
    runs: list[RunLines]


def package_lines(package: dict[str, Any], units: Units, zone: tzinfo) -> PackageLines:
    """The package as text; runs by the clock of `zone`."""
    known = catalogue()
    chassis = package["chassis"]
    sender = package["from"]
    return PackageLines(
        sender=f"{sender['team']}, {sender['club']}",
        number=package["number"],
        chassis=chassis["name"],
        geometry=[(_words(k), _plain(v)) for k, v in sorted(chassis["geometry"].items())],
        race_class=package["race_class"],
        history=Handover.History(package["history"]).label,
        learned=_learned(package["learned"]),
        own_targets=_own_targets(package, known),
        fitted=package.get("fitted", []),
        sheets=[sheet_lines(sheet, units, known) for sheet in package["sheets"]],
        runs=[run_lines(run, units, known, zone) for run in package.get("runs", [])],
    )


def _words(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _plain(value: Any) -> str:
    if isinstance(value, list):
        return "; ".join(_plain(each) for each in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _learned(learned: dict[str, Any] | None) -> list[str]:
    if not learned:
        return []
    times = [f"{RATES[k]} times {v:.3f}" for k, v in learned["multipliers"].items()]
    return [f"From {learned['changes']} changes, against the chassis page.", *times]


def sheet_lines(content: dict[str, Any], units: Units, known: Catalogue) -> SheetLines:
    """One sheet as text."""
    facts = [Surface(content["surface"]).label]
    if content["track"]:
        facts.append(content["track"]["name"])
    if content["fuel"]["typed"]:
        facts.append(f"fuel {content['fuel']['typed']}")
    if "driver" in content:
        facts.append(f"driver {content['driver']}")
    if "car_alone" in content:
        facts.append(f"car without driver {_mass(content['car_alone'], units)}")
    facts += [f"{SHARE_NAMES[k]} {v} %" for k, v in content.get("shares", {}).items()]
    if "ballast" in content:
        facts.append(f"ballast {content['ballast']}")
    targets = content["targets"]
    return SheetLines(
        title=f"{Sheet.Role(content['role']).label}, {day(date.fromisoformat(content['made_on']))}",
        facts=facts,
        figures=[
            (format_box(known.measures[r["measure"]], r["spot"]), shown(r["typed"], r["unit"]))
            for r in [*content.get("readings", []), *content.get("track_readings", [])]
        ],
        changes=[
            *(_change(r, units) for r in content.get("changes", [])),
            *(f"at the track {_change(r, units)}" for r in content.get("track_changes", [])),
        ],
        targets=targets["name"] if targets else "",
        target_figures=[
            (
                format_box(known.measures[r["measure"]], r["spot"]),
                f"{r['target']} ± {r['tolerance']}",
            )
            for r in (targets["values"] if targets else [])
        ],
        own_targets=_own_targets(content, known),
        words=[
            *content.get("words", []),
            *content.get("codes", []),
            *(_plan(plan) for plan in content.get("plans", [])),
        ],
    )


def _own_targets(content: dict[str, Any], known: Catalogue) -> list[tuple[str, str]]:
    found = []
    for row in content.get("own_targets") or []:
        where = f" on {row['surface']}" if row["surface"] else ""
        why = f" ({row['reason']})" if row["reason"] else ""
        name = format_box(known.measures[row["measure"]], row["spot"])
        found.append((f"{name}{where}", f"{row['target']} ± {row['tolerance']}{why}"))
    return found


def _plan(plan: dict[str, Any]) -> str:
    turns = ", ".join(
        f"{corner} {Decimal(turn):+f}"
        for corner, turn in zip(CORNERS, plan["turns"], strict=True)
        if Decimal(turn)
    )
    return f"Turn plan: {turns}; cross {plan['cross_before']} % to {plan['cross']} %."


def _change(row: dict[str, Any], units: Units) -> str:
    if row["unit"] == MARKS_SET:
        return format_adjustment(row["adjuster"], row["spot"], "set anew")
    amount = Decimal(row["amount"])
    return format_kept_change(row["adjuster"], row["spot"], amount, row["unit"], units)


def _mass(kg: float, units: Units) -> str:
    unit = units.for_kind(Kind.MASS)
    return show(Decimal(str(kg)), Kind.MASS, unit=unit, places=0).pretty


def tick_words(tick: Tick, units: Units) -> str:
    """What is ticked, with what it gives away."""
    name = SORTS[tick.sort]
    if tick.box is not None:
        measure, spot = tick.box
        name = format_box(catalogue().measures[measure], spot)
    says = f"{name[:1].upper()}{name[1:]}: {tick.says}"
    if not tick.tells_weight:
        return says
    if tick.within is None:
        return f"{says}. From these the driver's weight may then be worked out."
    within = _mass(tick.within, units)
    return f"{says}. From these the driver's weight then can be worked out to about ± {within}."


def together_words(ticks: Sequence[Tick], ticked: Iterable[str], units: Units) -> str:
    """How closely all that is ticked tells the driver's weight; empty where nothing of it does."""
    chosen = frozenset(ticked)
    telling = [tick for tick in ticks if tick.pk in chosen and tick.tells_weight]
    if not telling:
        return ""
    within = weight_within(ticks, chosen)
    if within is None:
        return "With what is ticked the driver's weight may be worked out."
    return (
        "With all that is ticked the driver's weight can be worked out to about "
        f"± {_mass(within, units)}."
    )
