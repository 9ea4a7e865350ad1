"""A run that goes along with a car, as giver and receiver read it."""

from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from cars.catalogue.queries import Catalogue
from cars.figures.formatting import format_box
from cars.handover.queries.goods import shown
from cars.models import Feel, Laps, RunDetails
from clubsetup.clock.writing import minute
from clubsetup.quantities.units import Units
from teams.models import Surface

FEELS = {
    **dict.fromkeys(("entry", "middle", "exit"), Feel.Balance),
    "hands": Feel.Hands,
    "steering": Feel.Steering,
}


@dataclass(frozen=True, slots=True)
class RunLines:
    """One run."""

    title: str
    facts: list[str]
    laps: str
    felt: list[str]
    figures: list[tuple[str, str]]
    words: list[str]


def run_lines(content: dict[str, Any], _units: Units, known: Catalogue, zone: tzinfo) -> RunLines:
    """The run as text, by the clock of `zone`."""
    when = minute(datetime.fromisoformat(content["ran_at"]).astimezone(zone))
    lines = handed_run_lines(content, known)
    laps = content["laps"]
    felt = [
        f"{who}: {words}."
        for name, who in (("seen", "The handler saw"), ("said", "The driver said"))
        if (words := _felt(content.get(name)))
    ]
    figures = [
        (format_box(known.measures[r["measure"]], r["spot"]), shown(r["typed"], r["unit"]))
        for r in content["readings"]
    ]
    return RunLines(f"{lines.title}, {when}", lines.facts, _laps(laps), felt, figures, lines.words)


def handed_run_lines(content: dict[str, Any], _known: Catalogue) -> RunLines:
    """What stands beside a run that came with a car: its rows say the rest."""
    facts = [content["track"]["name"]] if content["track"] else []
    if content["surface"]:
        facts.append(Surface(content["surface"]).label)
    if state := content.get("surface_state"):
        facts.append(RunDetails.SurfaceState(state).label)
    if content.get("finish"):
        facts.append(f"finished {content['finish']}")
    if (content.get("fuel") or {}).get("typed"):
        facts.append(f"fuel {content['fuel']['typed']}")
    if "driver" in content:
        facts.append(f"driver {content['driver']}")
    title = RunDetails.Kind(content["kind"]).label
    return RunLines(title, facts, "", [], [], content.get("words", []))


def _laps(laps: dict[str, Any] | None) -> str:
    if not laps:
        return ""
    by = Laps.TimedBy(laps["timed_by"]).label.lower()
    return f"{len(laps['times'])} laps, timed {'by ' if by[:2] != 'by' else ''}{by}: " + ", ".join(
        laps["times"]
    )


def _felt(feel: dict[str, str] | None) -> str:
    said: dict[str, str] = {k: FEELS[k](v).label.lower() for k, v in (feel or {}).items() if v}
    return ", ".join(f"{name} {word}" for name, word in said.items())
