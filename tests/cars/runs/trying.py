"""What tests of what to try need: suggestions in a table, rules of a class, an evening of runs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

from cars.garage.actions.cars import edit_car
from cars.models import Car, Run, Sheet, SuggestionTable, TrackChange
from cars.runs.actions.runs import FeelSaid, RunFacts, TimedLaps, note_run
from cars.runs.actions.suggestions import (
    SuggestionGiven,
    add_suggestion,
    draft_suggestions,
    publish_suggestions,
)
from cars.runs.actions.track_changes import note_track_change
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.places import add_race_class
from tests.cars.garage import Garage
from tests.events.meeting import publish_rules
from tests.people import People

SCATTER = ("0.02", "-0.03", "0.00", "0.04", "-0.02", "-0.01", "0.03", "0.01")


@dataclass(frozen=True)
class Change:
    """A change that is asked about."""

    adjuster: str
    spot: str
    amount: Decimal
    unit: str


def change(text: str) -> Change:
    """'spring-seat RF 0.5 turn'."""
    adjuster, spot, amount, unit = text.split()
    return Change(adjuster, spot, Decimal(amount), unit)


def suggested(text: str, **given: Any) -> SuggestionGiven:
    """A row of a table: 'spring-seat RF 0.5 turn', for a car that is loose unless it is said."""
    what = change(text)
    felt = {"place": "exit", "balance": "loose"}
    return SuggestionGiven(
        **{
            **{"minutes": 3, "why": f"{text}.", "source": "common-practice"},
            **(felt if not given.keys() & {"balance", "hands", "steering"} else {}),
            **{"adjuster": what.adjuster, "spot": what.spot},
            **{"amount": what.amount, "unit": what.unit},
            **given,
        }
    )


def published_table(
    by: User, people: People, rows: Sequence[SuggestionGiven], **whose: Any
) -> SuggestionTable:
    """A table in force with these rows."""
    with viewing_as(by.pk):
        table = draft_suggestions(by=by, club=people.club, **whose)
        for row in rows:
            add_suggestion(by=by, table=table, given=row)
        return publish_suggestions(by=by, table=table)


def held_to(people: People, car: Car, *rules: tuple[str, dict[str, Any]]) -> Car:
    """The car in a class whose published rules are these."""
    with viewing_as(people.steward.pk):
        race_class = add_race_class(by=people.steward, club=people.club, name="Red Class")
    publish_rules(people, race_class, rules)
    with viewing_as(people.chief.pk):
        return edit_car(
            by=people.chief,
            car=car,
            number=car.number,
            name=car.name,
            chassis=car.chassis,
            race_class=race_class,
            baseline=car.baseline,
        )


def made(by: User, sheet: Sheet, text: str) -> TrackChange:
    """A change on the car at the track."""
    what = change(text)
    return note_track_change(
        by=by,
        sheet=sheet,
        adjuster=what.adjuster,
        spot=what.spot,
        amount=what.amount,
        unit=what.unit,
    )


def ran(
    by: User,
    garage: Garage,
    ago: float,  # seconds
    middle: str = "",
    said: FeelSaid | None = None,
    **facts: Any,
) -> Run:
    """A run so many seconds ago, of eight laps about its middle where one is given.

    The car is as the last change before it left it, though that was made but now.
    """
    laps = None
    if middle:
        times = [Decimal(middle) + Decimal(off) for off in SCATTER]
        laps = TimedLaps(times, [""] * len(times), "transponder")
    run = note_run(
        by=by,
        car=garage.car,
        facts=RunFacts(**{"surface": "paved", **facts}),
        said=said or FeelSaid(),
        laps=laps,
    )
    run.ran_at -= timedelta(seconds=ago)
    run.save(update_fields=["ran_at"])
    return run
