"""Everything that can be printed of, with the longest names, marks and figures that are allowed."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import cycle, islice
from typing import Any

from cars.baselines.actions.chassis import add_chassis
from cars.baselines.actions.mounts import add_mount
from cars.garage.actions.ballast import add_ballast_piece
from cars.garage.actions.cars import add_car
from cars.history.actions.school_days import change_outing, plan_school_day
from cars.models import Baseline, Car, Comparison, Measure, Outing, SchoolDay, Sheet
from cars.runs.actions.suggestions import (
    FROM_STARTER,
    SuggestionGiven,
    add_suggestion,
    draft_suggestions,
    publish_suggestions,
)
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change, open_set_sheet
from cars.sheets.actions.sheets import close_sheet, correct_sheet, open_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from events.actions.ballast import check_ballast
from events.actions.draws import draw_cars
from events.actions.entries import enter
from events.actions.events import add_event_class, plan_event, start_event
from events.actions.measuring import measure_car
from events.actions.scale_checks import LoadRead, check_scales
from events.actions.scales import add_scale_set
from events.actions.voiding import void_weigh_in
from events.actions.weighing import weigh
from events.models import Entry, Event
from teams.actions.drivers import add_driver
from teams.actions.places import add_race_class, add_track
from teams.models import Track
from tests.cars.filling import everything
from tests.cars.garage import GEOMETRY, TARGETS, published
from tests.events.meeting import mass, pads, publish_rules
from tests.events.photographs import jpeg
from tests.owner import bend
from tests.people import People
from tests.standing_people import standing_people

Text = Callable[[int], str]

# Tolerances and figures that no step of a tape or gauge divides.
UNEVEN = {
    "pressure": "11.4375 psi",
    "circumference": "33.123457 in",
    "rear-bar": "45.987654 inches",
    "wheelbase": "1174.750001 mm",
    "ride-height": "2.123457 in",
    "weight": "133.43 pounds",
    "camber": "-2.1234 deg",
    "spring-rate": "187.4375 lb/in",
    "ballast-total": "128.34 pounds",
}


def solid(length: int) -> str:
    """One word without a place to break it, of wide letters."""
    return "".join(islice(cycle("WMQÖ@GŴM8"), length))


def spoken(length: int) -> str:
    """Words, the longest of them longer than any place is wide."""
    words = "The Wide Marlborough Commemorative Woodworm-And-Millstone Memorial Meeting of "
    return (words * (length // len(words) + 1))[:length].strip().ljust(length, "m")


@dataclass
class Longest:
    """What there is to print."""

    people: People
    car: Car
    sheet: Sheet
    event: Event
    entry: Entry
    comparison: Comparison  # of twelve sheets
    school_day: SchoolDay


def make_longest(text: Text) -> Longest:
    """By the actions, as people would."""
    people = standing_people()
    _rename(people, text)
    with viewing_as(people.steward.pk):
        race_class = add_race_class(by=people.steward, club=people.club, name=text(60))
        track = add_track(by=people.steward, club=people.club, name=text(80), surface="paved")
        chassis = add_chassis(by=people.steward, club=people.club, name=text(60), geometry=GEOMETRY)
        where: dict[str, Any] = {side: parse("10", Kind.LENGTH) for side in ("x", "y")}
        mount = add_mount(
            by=people.steward, chassis=chassis, name=text(40), capacity=mass("99.75"), **where
        )
        baseline = published(people.steward, chassis, _targets())
    with viewing_as(people.chief.pk):
        car = add_car(
            by=people.chief,
            team=people.team,
            number=text(6),
            name=text(40),
            chassis=chassis,
            race_class=race_class,
            baseline=baseline,
            since=date(2025, 3, 1),
        )
        driver = add_driver(by=people.chief, team=people.team, display_name=text(40))
        for n in range(2):
            add_ballast_piece(
                by=people.chief,
                team=people.team,
                label=text(39) + str(n),
                marked_mass=mass("12.3456 kilogrammes"),
                car=car,
                mount=mount,
            )
        sheet = _sheet(people.chief, car, text, driver=driver, track=track)
        comparison = _comparison(people.chief, sheet)
    school_day = _school_day(people, text, sheet, baseline, track)
    _suggestions(people, text)
    event, entry = _event(people, text, track, race_class, car, driver)
    return Longest(people, car, sheet, event, entry, comparison, school_day)


def _school_day(
    people: People, text: Text, sheet: Sheet, baseline: Baseline, track: Track
) -> SchoolDay:
    """The car goes out as that sheet has it, as the baseline has it, and six times more."""
    by, car = people.coach, sheet.car
    with viewing_as(by.pk):
        school_day = plan_school_day(
            by=by,
            club=people.club,
            day=date(2026, 9, 30),
            name=text(80),
            track=track,
            note=text(1000),
            cars=[car] * 8,
        )
        first, second, *_ = Outing.objects.filter(school_day=school_day)
        driver, closed = sheet.driver, sheet.corrects
        change_outing(by=by, outing=first, driver=driver, sheet=closed, note=text(200))
        change_outing(by=by, outing=second, driver=None, baseline=baseline, note=text(200))
    return school_day


def _suggestions(people: People, text: Text) -> None:
    """The starter's and one as long as they may be, in force."""
    by = people.steward
    with viewing_as(by.pk):
        table = draft_suggestions(by=by, club=people.club, begin=FROM_STARTER, note=text(40))
        given = SuggestionGiven(
            place="middle",
            balance="pushes",
            adjuster="rear-rod-hole",
            spot="rear",
            amount=Decimal("-1.0625"),
            unit="hole",
            why=text(300),
            caution=text(300),
            minutes=480,
            source="coach",
            source_note=text(120),
        )
        add_suggestion(by=by, table=table, given=given)
        publish_suggestions(by=by, table=table)


def _rename(people: People, text: Text) -> None:
    for row in (people.club, people.team):
        bend(row, name=text(80))
    for who in (people.steward, people.official, people.chief):
        with viewing_as(who.pk):
            User.objects.filter(pk=who.pk).update(name=text(80))
            who.refresh_from_db(fields=["name"])


def _targets() -> dict[str, tuple[str, str]]:
    """A target at every spot of what is read, beside those of the garage."""
    found: dict[str, tuple[str, str]] = {}
    for measure in Measure.objects.filter(taken="quantity").exclude(kind="count"):
        typed = UNEVEN.get(measure.pk)
        if typed:
            tolerance = {"mass": "1.43", "angle": "0.1234"}.get(measure.kind, "0.1875")
            found |= {f"{measure.pk}.{spot}": (typed, tolerance) for spot in measure.spots}
    return TARGETS | found


def _typed() -> dict[str, str]:
    boxes = everything(Measure.objects.in_bulk())
    return {box: UNEVEN.get(box.split(".")[0], text) for box, text in boxes.items()}


def _sheet(by: User, car: Car, text: Text, **head: Any) -> Sheet:
    """As set, a second version, on a car found otherwise, with things changed since they were
    read."""
    found = open_sheet(
        by=by,
        car=car,
        role="found",
        made_on=date(2026, 3, 14),
        **head,
    )
    take_typed(by=by, sheet=found, typed=_typed() | _words(text))
    as_set = open_set_sheet(by=by, sheet=close_sheet(by=by, sheet=found))
    again = dict.fromkeys(("ride-height.LF", "ride-height.RR"), "2.234567 in")
    take_typed(by=by, sheet=as_set, typed=again | {"circumference.LF": "33.876543 in"})
    half = parse("1/2", Kind.TURNS).value
    for corner in ("LF", "RF", "LR", "RR"):
        note_change(
            by=by,
            sheet=as_set,
            adjuster="pressure",
            spot=corner,
            amount=half,
            unit="psi",
        )
    add_comment(by=by, sheet=as_set, text=text(2000))
    second = correct_sheet(by=by, sheet=close_sheet(by=by, sheet=as_set), reason=text(200))
    bend(second, note=text(1000), fuel_typed="3.123456 litres")
    return second


def _comparison(by: User, sheet: Sheet) -> Comparison:
    """The sheet with eleven like it, on which most is otherwise."""
    sheets = [sheet]
    for n in range(11):
        other = open_sheet(
            by=by, car=sheet.car, role="set", made_on=date(2026, 4, 1 + n), track=sheet.track
        )
        typed = {f"pressure.{spot}": f"{9 + n}.4375 psi" for spot in ("LF", "RF", "LR", "RR")}
        take_typed(by=by, sheet=other, typed=_typed() | typed | {"caster.left": f"{n}.1234 deg"})
        sheets.append(other)
    return Comparison.objects.create(by=by, sheets=[each.pk for each in sheets])


def _words(text: Text) -> dict[str, str]:
    words = Measure.objects.filter(taken="words")
    return {f"{measure.pk}.{spot}": text(200) for measure in words for spot in measure.spots}


def _event(people: People, text: Text, track: Any, race_class: Any, car: Car, driver: Any) -> Any:
    rules: list[tuple[str, dict[str, Any]]] = [
        ("minimum_weight", {"minimum": "145.1495584", "with_driver": True}),
        ("left_limit", {"at_most": "58"}),
        ("ballast_marked", {}),
    ]
    publish_rules(people, race_class, rules)
    steward = people.steward
    with viewing_as(steward.pk):
        scales = add_scale_set(by=steward, club=people.club, name=text(40), division=mass("0.1 kg"))
        event = plan_event(
            by=steward,
            club=people.club,
            track=track,
            name=text(80),
            starts_on=date(2026, 6, 30),
            ends_on=date(2026, 9, 29),
        )
        event_class = add_event_class(by=steward, event=event, race_class=race_class)
        event = start_event(by=steward, event=event, another_day=True)
    event_class.event = event
    with viewing_as(people.chief.pk):
        entry = enter(
            by=people.chief, event_class=event_class, car=car, driver=driver, number="888w"
        )
        # As it may have been kept before numbers were digits and a letter.
        bend(entry, number=car.number)
        entry.refresh_from_db()
    _records(people, text, event, entry, scales)
    return event, entry


def _records(people: People, text: Text, event: Event, entry: Entry, scales: Any) -> None:
    by = people.official
    with viewing_as(by.pk):
        check_scales(
            by=by,
            scale_set=scales,
            loads=[
                LoadRead(pad, mass("36.3 kilogrammes"), mass("36.4 kilogrammes"))
                for pad in ("LF", "RF", "LR", "RR")
            ],
            pads_level=False,
            level_note=text(60),
        )
        given: dict[str, Any] = {
            "entry": entry,
            "scale_set": scales,
            "driver_in": True,
            "fuel_note": text(40),
        }
        typed = pads(
            "60.4 kilogrammes", "160.1 kilogrammes", "100.3 kilogrammes", "34.4 kilogrammes"
        )
        wrong = weigh(by=by, stage="entry", pads=typed, **given)
        void_weigh_in(by=by, weigh_in=wrong, reason=text(200))
        weigh(by=by, stage="entry", pads=typed, **given)
        weigh(by=by, stage="after", total=mass("144.6 kilogrammes"), **given | {"driver_in": False})
        draw_cars(by=by, event=event, seed=text(80), count=1, purpose=text(80))
        check_ballast(
            by=by,
            entry=entry,
            label_legible=True,
            label=text(40),
            marked_mass=mass("12.3456 kilogrammes"),
            weighed_mass=mass("12.3457 kilogrammes"),
            fixed=False,
            place=text(60),
            photo=jpeg(),
        )
        measure_car(
            by=by,
            entry=entry,
            measure=Measure.objects.get(pk="circumference"),
            spot="LF",
            length=parse("33.123457 inches", Kind.LENGTH),
        )
