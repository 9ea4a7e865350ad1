"""Ballast, rods, block marks, lead and stagger: from a sheet's readings to words."""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID

import pytest
from django.test import Client

from cars.baselines.actions.mounts import add_mount
from cars.bench.actions import start_bench
from cars.garage.actions.ballast import add_ballast_piece
from cars.mechanics.rods import Rod, moved
from cars.models import BallastMount, BallastPiece, Car, Change, Reading, Sheet
from cars.plans.actions.ballast import fit_ballast
from cars.plans.queries.ballast import ballast_seen
from cars.plans.queries.block_marks import marks_of, side_marks
from cars.plans.queries.class_limits import ClassLimit, _providers, class_limit
from cars.plans.queries.lead import lead_figures
from cars.plans.queries.rods import FIRST, end_plans, lacking
from cars.plans.queries.sheet_figures import sheet_figures
from cars.sheets.actions.ballast import move_ballast_piece
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from teams.actions.places import add_track
from tests.cars.garage import Garage, typed
from tests.cars.plans.evening import Evening, make_evening
from tests.markup import plain
from tests.people import People

ASKED = "minimum=330+lb&margin=1+lb&fuel_now=0.3+gal"


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


@pytest.fixture
def mounts(garage: Garage, people: People) -> list[BallastMount]:
    with viewing_as(people.steward.pk):
        return [
            add_mount(
                by=people.steward,
                chassis=garage.chassis,
                name=name,
                x=typed("length", x),
                y=typed("length", y),
                capacity=typed("mass", "25 lb"),
            )
            for name, x, y in (("Left rail", "18 in", "9 in"), ("Rear bar", "4 in", "-2 in"))
        ]


def piece(people: People, label: str, mass: str, car: Car | None = None) -> BallastPiece:
    return add_ballast_piece(
        by=people.chief,
        team=people.team,
        label=label,
        marked_mass=typed("mass", mass),
        car=car,
    )


def text_of(client: Client, evening: Evening, end: str) -> str:
    answer = client.get(f"/sheets/{evening.sheet.pk}/{end}")
    assert answer.status_code == 200
    return str(answer.content.decode())


# Ballast


def test_what_is_missing_for_ballast_is_said(chief: Client, people: People, garage: Garage) -> None:
    with viewing_as(people.chief.pk):
        bare = make_evening(garage, people.chief, read=False)
    text = text_of(chief, bare, "ballast")
    assert "Weigh the car on all four pads first" in text
    assert "No mount is known on the Osprey 6" in text
    assert "no ballast piece on the shelf" in text


def test_ballast_reaches_the_minimum_with_its_margin(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        for mass in ("10 lb", "12 lb", "3 lb"):
            piece(people, "7", mass)
    total = sum(evening.loads) / 0.45359237
    text = text_of(chief, evening, f"ballast?{ASKED}")
    fitted = [float(lb) for lb in re.findall(r"Fit the ([\d.]+) lb piece marked 7 at ", text)]
    assert fitted
    weight = re.search(r'<b class="num">([\d.]+) lb</b>', text)
    assert weight
    # Pads read to half a pound each.
    assert float(weight[1]) == pytest.approx(total + sum(fitted), abs=1.1)
    assert float(weight[1]) >= 331
    assert "over the minimum" in text
    assert "missile" in text


def test_too_few_pieces_say_by_how_much(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        piece(people, "7", "1 lb")
    text = text_of(chief, evening, f"ballast?{ASKED}")
    assert "short of the minimum with its margin" in text
    assert "The most these pieces give" in text


def test_fuel_that_goes_needs_the_tanks_place(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        piece(people, "7", "12 lb")
        piece(people, "7", "8 lb")
    text = text_of(chief, evening, f"ballast?{ASKED}&fuel_then=0.1+gal&fuel=gasoline")
    assert "Say where the tank is" in text
    whole = text_of(chief, evening, f"ballast?{ASKED}&fuel_then=0.1+gal&fuel=gasoline&tank_x=5")
    same = text_of(chief, evening, f"ballast?{ASKED}&fuel=gasoline")
    lighter, heavier = (
        float(re.findall(r'<b class="num">([\d.]+) lb</b>', text)[0]) for text in (whole, same)
    )
    assert heavier - lighter == pytest.approx(0.2 * 6.25, abs=0.11)


def test_a_heavier_driver_needs_less_ballast(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        for mass in ("20 lb", "8 lb", "4 lb"):
            piece(people, "7", mass)
    without = text_of(chief, evening, f"ballast?{ASKED}")
    with_driver = text_of(chief, evening, f"ballast?{ASKED}&driver=10+lb")

    def added(text: str) -> float:
        return sum(float(lb) for lb in re.findall(r"Fit the ([\d.]+) lb piece marked 7 at ", text))

    assert added(with_driver) < added(without)


def test_more_doubt_between_the_scales_is_more_risk(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        for mass in ("20 lb", "8 lb"):
            piece(people, "7", mass)

    def one_in(between: str) -> float:
        page = text_of(chief, evening, f"ballast?{ASKED}&margin=0+lb&between={between}")
        said = re.search(r"about 1 in (\d+) to be under|(\d+)% likely|less than 1 in (1000)", page)
        assert said
        return float(said[1] or said[3] or 100 / float(said[2]))

    assert one_in("0.1+lb") > one_in("9+lb")
    refused = text_of(chief, evening, f"ballast?{ASKED}&between=-1+lb")
    assert "doubt between two scales is between 0 lb and 50 lb" in refused


def test_pieces_of_other_cars_and_retired_ones_are_not_offered(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        piece(people, "Placeless", "9 lb", evening.garage.car)
        piece(people, "Shelf", "20 lb")
    text = text_of(chief, evening, f"ballast?{ASKED}")
    assert "Placeless 9 lb is on the car at no mount anybody noted" in text
    assert "Fit the 20 lb piece marked Shelf at" in text
    assert "marked Placeless" not in text


def test_fitting_moves_the_pieces_and_asks_for_the_scales_again(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        one = piece(people, "7", "12 lb")
        seen = ballast_seen(evening.sheet)
    sent = {"move": [f"{one.pk}:{mounts[0].pk}"], "seen": seen}
    answer = chief.post(f"/sheets/{evening.sheet.pk}/ballast/fitted", sent, follow=True)
    assert "weigh the car again" in answer.content.decode()
    with viewing_as(people.chief.pk):
        one.refresh_from_db()
        assert (one.car_id, one.mount_id) == (evening.garage.car.pk, mounts[0].pk)
        change = Change.objects.get()
        assert (change.adjuster, change.unit) == ("ballast", "kg")
        assert change.amount == round(one.marked_mass, 4)
        view = sheet_view(evening.sheet, people.chief)
        assert view.box("weight", "LF").is_retake
        assert view.box("ride-height", "RR").is_retake
    assert "Take the weight again" in text_of(chief, evening, "ballast")


def test_taking_off_and_moving_are_changes_too(
    people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        one = piece(people, "7", "12 lb")
        for mount in (mounts[0].pk, mounts[1].pk, None):
            fit_ballast(
                by=people.chief, sheet=evening.sheet, moves=[(one.pk, mount)], seen=OVER_ANYTHING
            )
        one.refresh_from_db()
        assert one.car_id is None
        amounts = [(change.amount, change.unit) for change in Change.objects.order_by("made_at")]
        mass = round(one.marked_mass, 4)
        assert amounts == [(mass, "kg"), (Decimal(1), "1"), (-mass, "kg")]
        with pytest.raises(WrongState, match="not on this car"):
            fit_ballast(
                by=people.chief, sheet=evening.sheet, moves=[(one.pk, None)], seen=OVER_ANYTHING
            )
        for wrong in ([], [(mounts[0].pk, None)], [(one.pk, one.pk)]):
            with pytest.raises(Invalid):
                fit_ballast(by=people.chief, sheet=evening.sheet, moves=wrong, seen=OVER_ANYTHING)


def test_half_of_a_ballast_plan_is_never_kept(
    people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        one, gone = piece(people, "7", "12 lb"), piece(people, "8", "5 lb")
        trail = TrailLine.objects.count()
        with pytest.raises(WrongState):
            fit_ballast(
                by=people.chief,
                sheet=evening.sheet,
                moves=[(one.pk, mounts[0].pk), (gone.pk, None)],
                seen=OVER_ANYTHING,
            )
        one.refresh_from_db()
        assert one.car_id is None
        assert not Change.objects.exists()
        assert TrailLine.objects.count() == trail


@pytest.mark.parametrize("who", ["guest", "coach"])
def test_who_only_reads_fits_nothing(
    people: People, evening: Evening, mounts: list[BallastMount], who: str
) -> None:
    with viewing_as(people.chief.pk):
        one = piece(people, "7", "12 lb")
    by = getattr(people, who)
    with viewing_as(by.pk), pytest.raises(NotAllowed):
        fit_ballast(by=by, sheet=evening.sheet, moves=[(one.pk, mounts[0].pk)], seen=OVER_ANYTHING)


def test_a_piece_already_fitted_counts(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        one = piece(people, "7", "12 lb")
        move_ballast_piece(by=people.chief, piece=one, car=evening.garage.car, mount=mounts[0])
    text = text_of(chief, evening, "ballast?minimum=200+lb&margin=1+lb&fuel_now=0")
    assert "Take the 12 lb piece marked 7 off Left rail" in text
    assert "Leaving fitted pieces alone" in text


def test_the_class_minimum_is_filled_in_by_who_knows_it(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        piece(people, "7", "12 lb")
        assert class_limit(evening.garage.car) is None

    def junior(cars: Sequence[Car]) -> dict[UUID, ClassLimit]:
        return {car.pk: ClassLimit(Decimal("140.6136347"), "Junior, rule set 2.") for car in cars}

    _providers.append(junior)
    try:
        text = text_of(chief, evening, "ballast")
    finally:
        _providers.remove(junior)
    assert 'value="310 lb"' in text
    assert "Junior, rule set 2." in text


# Rods

UPPER, LOWER = Rod(24, 50.0, both_ends=True), Rod(24, -50.0, both_ends=True)
REAR = {
    "rear-bar.left": "7 1/4",
    "rear-bar.right": "7 3/8",
    "carrier-rotation.left": "4",
    "carrier-rotation.right": "5",
}


def test_rods_ask_for_bar_and_rotation_first(people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        evening.take({"rear-bar.left": "7 1/4"})
        assert lacking(sheet_figures(evening.sheet, people.chief)) == FIRST
        evening.take(REAR)
        assert lacking(sheet_figures(evening.sheet, people.chief)) == ""
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="rear-rod-upper",
            spot="left",
            amount=Decimal(1),
            unit="turn",
        )
        assert "changed since" in lacking(sheet_figures(evening.sheet, people.chief))


def test_without_a_target_the_ends_meet_in_the_middle(people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        evening.take(REAR)
        left, right = end_plans(sheet_figures(evening.sheet, people.chief), UPPER, LOWER, step=0.25)
    # Far from a bar that is ahead means too far back; a sixteenth each brings them level.
    assert left.wanted.fore_aft == pytest.approx(-1.5875)
    assert right.wanted.fore_aft == pytest.approx(1.5875)
    assert left.wanted.rotation == right.wanted.rotation == 0.0


def test_the_rods_turned_by_the_plan_bring_the_end_there(people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        evening.take(REAR)
        for plan in end_plans(sheet_figures(evening.sheet, people.chief), UPPER, LOWER, step=0.25):
            done = moved(UPPER, LOWER, plan.turns)
            assert done.fore_aft + plan.left_over.fore_aft == pytest.approx(plan.wanted.fore_aft)
            assert done.rotation + plan.left_over.rotation == pytest.approx(plan.wanted.rotation)
            exact = moved(UPPER, LOWER, plan.exact)
            assert exact.fore_aft == pytest.approx(plan.wanted.fore_aft)
            assert all(turns % 0.25 == 0 for turns in plan.turns)


def test_a_bar_behind_the_axle_is_moved_towards_the_other_way(
    people: People, evening: Evening
) -> None:
    upper = Rod(24, 50.0, both_ends=True, frame_is="behind")
    lower = Rod(24, -50.0, both_ends=True, frame_is="behind")
    with viewing_as(people.chief.pk):
        evening.take(REAR)
        _, right = end_plans(sheet_figures(evening.sheet, people.chief), upper, lower, step=0.25)
    assert right.wanted.fore_aft == pytest.approx(-1.5875)


def test_the_page_of_rods_says_what_to_turn(
    chief: Client, people: People, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.take(REAR)
    asked = "threads=24&both_ends=on&upper=2&lower=2&frame_is=ahead"
    text = plain(text_of(chief, evening, f"rods?{asked}"))
    # 1/16 in forward: both rods shorter by 1/16 in, 2 x 1/24 in a turn, to the nearest quarter.
    assert "Right end" in text
    assert "Shorten the upper rod by 3/4 turn" in text
    assert "Lengthen the lower rod by 3/4 turn" in text
    assert 'name="lower" value="2"' in text_of(chief, evening, "rods"), "asked with last time"
    text = text_of(chief, evening, "rods?threads=24&upper=2&lower=-2")
    assert "distance from the axle is between 1/4 in and 20 in" in text
    assert "errorlist" in text_of(chief, evening, "rods?threads=0&upper=x&lower=2")


# Block marks


def marked(evening: Evening, sheet: Sheet, marks: str, camber: str, caster: str = "") -> None:
    given = {"block-marks.left": marks, "camber.left": camber}
    if caster:
        given["caster.left"] = caster
    take_typed(by=evening.by, sheet=sheet, typed=given)


@pytest.mark.parametrize(
    ("text", "marks"),
    [
        ("2 / 1", ("2", "1")),
        ("2-1", ("2", "1")),
        ("b, 3", ("B", "3")),
        (" 4 ", ("4",)),
        ("", ()),
    ],
)
def test_marks_as_people_write_them(text: str, marks: tuple[str, ...]) -> None:
    assert marks_of(text) == marks


def test_marks_are_learned_from_this_cars_sheets_only(
    people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        for marks, camber in (("1/1", "0.5"), ("2/1", "1.5"), ("1/2", "1.0"), ("2/2", "2.0")):
            marked(evening, garage.sheet(people.chief), marks, camber, "3")
        marked(evening, evening.sheet, "2/1", "1.5")
        sides = side_marks(sheet_figures(evening.sheet, people.chief))
        assert [side.pairs for side in sides] == [5, 0]
        assert sides[0].why_not == "There is no camber target for this side."


def test_the_nearest_marks_come_first_with_the_caster_they_give(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        own = garage.sheet(people.chief, role="target")
        take_typed(by=people.chief, sheet=own, typed={"camber.left": "1.6"})
        for marks, camber in (("1/1", "0.5"), ("2/1", "1.5"), ("1/2", "1.0"), ("2/2", "2.0")):
            marked(evening, garage.sheet(people.chief), marks, camber, "3")
        bench = sheet_figures(evening.sheet, people.chief, str(own.pk))
        left = side_marks(bench)[0]
        assert left.target == 1.6
        assert left.choices[0].camber.marks == ("2", "1")
        assert left.choices[0].camber.angle == pytest.approx(1.5)
        assert left.choices[0].caster is not None
        assert left.choices[0].caster.angle == pytest.approx(3.0)


@pytest.mark.parametrize("readings", [1, 162, 400])
def test_the_page_of_block_marks_answers_for_a_car_of_many_seasons(
    chief: Client, people: People, garage: Garage, readings: int
) -> None:
    """162 sheets with one and the same setting are what a least-squares fit once stumbled on."""
    with viewing_as(people.chief.pk):
        own = garage.sheet(people.chief, role="target")
        take_typed(by=people.chief, sheet=own, typed={"camber.left": "1.6"})
        bench = start_bench(by=people.chief, car=garage.car, role="set", target=own)
        evening = Evening(garage, people.chief, bench)
        many_sheets(people, garage, readings)
    assert "2 / 1" in text_of(chief, evening, "marks")
    answer = chief.get(f"/api/v1/sheets/{evening.sheet.pk}/block-marks")
    assert answer.status_code == 200
    side = answer.json()[0]
    assert side["pairs"] == readings
    assert side["choices"][0]["camber"] == pytest.approx(1.5)


def many_sheets(people: People, garage: Garage, count: int) -> None:
    """Sheets of one setting each: marks 2 / 1 and a camber of 1.5 degrees."""
    sheets = Sheet.objects.bulk_create(
        Sheet(
            car=garage.car,
            team=people.team,
            role="found",
            made_on=date(2020, 1, 1) + timedelta(days=place),
            surface="paved",
            opened_by=people.chief,
        )
        for place in range(count)
    )
    Reading.objects.bulk_create(
        Reading(
            sheet=sheet,
            team=people.team,
            measure_id=measure,
            spot="left",
            value=value,
            typed=text,
            unit=unit,
            by=people.chief,
        )
        for sheet in sheets
        for measure, text, unit, value in (
            ("block-marks", "2 / 1", "", None),
            ("camber", "1.5", "deg", Decimal("1.5")),
        )
    )


def test_an_angle_read_before_the_blocks_were_moved_is_no_pair(
    people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        marked(evening, evening.sheet, "1/1", "0.5")
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="block",
            spot="LF",
            amount=Decimal(1),
            unit="1",
        )
        take_typed(by=people.chief, sheet=evening.sheet, typed={"block-marks.left": "2/1"})
        assert side_marks(sheet_figures(evening.sheet, people.chief))[0].pairs == 0
        take_typed(by=people.chief, sheet=evening.sheet, typed={"camber.left": "1.5"})
        assert side_marks(sheet_figures(evening.sheet, people.chief))[0].pairs == 1


# Lead and stagger

ROLLED = {
    "wheelbase.left": "46 1/4",
    "wheelbase.right": "46 3/4",
    "circumference.LF": "33",
    "circumference.RF": "33 1/2",
    "circumference.LR": "33",
    "circumference.RR": "35",
}


def test_lead_and_stagger_ask_for_their_readings(chief: Client, evening: Evening) -> None:
    text = text_of(chief, evening, "lead")
    assert "Take both wheelbases first" in text
    assert "Roll out both rear tyres first" in text


def test_stagger_rolls_on_the_radius_of_its_cone(people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        evening.take(ROLLED)
        bench = sheet_figures(evening.sheet, people.chief)
        chassis, _ = bench.chassis
        assert chassis is not None
        lead = lead_figures(bench, chassis, 48 * 304.8, 1.5)
    rear = lead.staggers[0]
    # Similar triangles: t (Co + Ci) / 2 (Co - Ci), on the chassis' 800.1 mm.
    assert rear.radius == pytest.approx(800.1 * 68 / (2 * 2))
    assert rear.stagger == pytest.approx(2 * 25.4)
    assert lead.lead == pytest.approx(12.7)
    assert lead.hands is not None
    assert lead.hands > 0, "half an inch of lead is too little for 48 ft"


def test_the_track_fills_in_its_radius(chief: Client, people: People, garage: Garage) -> None:
    with viewing_as(people.steward.pk):
        track = add_track(
            by=people.steward,
            club=people.club,
            name="Alder Ring",
            surface="paved",
            corner_radius=typed("length", "48 ft"),
        )
    with viewing_as(people.chief.pk):
        sheet = garage.sheet(people.chief, track=track)
        evening = Evening(garage, people.chief, sheet)
        evening.take(ROLLED)
    text = text_of(chief, evening, "lead")
    assert "Stagger, rear" in text
    assert "by itself turns left on a radius of 45 ft" in text
    assert "Hands" not in text
    assert "left to hold" in text_of(chief, evening, "lead?radius=48+ft&ratio=1.5")
    assert "a corner radius is between" in text_of(chief, evening, "lead?radius=1+ft")
