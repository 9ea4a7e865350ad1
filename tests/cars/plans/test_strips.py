"""What a plan brings, on target strips: the same verdict as the words beside them."""

from decimal import Decimal

import pytest
from django.test import Client

from cars.catalogue.queries import catalogue
from cars.figures.judgement import Standard
from cars.models import BallastMount
from cars.plans.presenters.axles import rod_cards, side_cards
from cars.plans.presenters.strips import figure_then, weight_strip
from cars.plans.queries.block_marks import side_marks
from cars.plans.queries.rods import end_plans, rods_of
from cars.plans.queries.sheet_figures import sheet_figures
from cars.sheets.actions.readings import take_typed
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.units import Units
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening
from tests.cars.plans.test_axles import RODS, bench_for
from tests.cars.plans.test_tools import ASKED, mounts, piece
from tests.people import People

__all__ = ["mounts"]  # a fixture of the tools

POUND = 0.45359237
WANTED = Standard(Decimal("54"), Decimal("0.5"))


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


@pytest.mark.parametrize(
    ("value", "reach", "state", "drawn"),
    [
        (54.1, 0.1, "good", "n good"),
        (54.4, 0.3, "close", "n close"),
        (55.5, 0.1, "bad", "n bad"),
    ],
)
def test_a_strip_says_what_the_words_do(
    db: None, value: float, reach: float, state: str, drawn: str
) -> None:
    cross = catalogue().measures["cross"]
    then = figure_then(
        "Cross", cross, Units.imperial(), WANTED, value=value, reach=reach, before=53.5
    )
    assert (then.state, then.text) == (state, f"{value}%")
    assert f'class="{drawn}"' in then.strip
    assert 'class="before"' in then.strip
    assert 'aria-hidden="true"' in then.strip, "the words beside it say the same"


def test_without_a_band_there_is_no_strip(db: None) -> None:
    cross = catalogue().measures["cross"]
    for standard in (None, Standard(Decimal("54"))):
        then = figure_then("Cross", cross, Units.imperial(), standard, value=54.0)
        assert then.strip == ""
        assert then.text == "54.0%"


@pytest.mark.parametrize(("is_legal", "drawn"), [(True, "n good"), (False, "n bad")])
def test_a_weight_stands_on_its_side_of_the_least(is_legal: bool, drawn: str) -> None:
    least = 280 * POUND
    weight = least + (1 if is_legal else -1)
    strip = weight_strip(weight, reach=0.1, least=least, is_legal=is_legal)
    assert f'class="{drawn}"' in strip


def test_rods_show_bar_and_carrier_after_their_turns(people: People, evening: Evening) -> None:
    read = {"rear-bar.left": "7 1/4", "rear-bar.right": "7 1/2"}
    read |= {"carrier-rotation.left": "4", "carrier-rotation.right": "5"}
    with viewing_as(people.chief.pk):
        evening.take(read)
        on_sheet = sheet_figures(evening.sheet, people.chief)
        upper, lower, step = rods_of(24.0, 50.8, 50.8, both_ends=True)
        plans = end_plans(on_sheet, upper, lower, step=step)
        cards = rod_cards(on_sheet, plans)
    for plan in plans:
        # Where the turns lead is the target, but for what whole turns leave over.
        assert plan.bar_then == pytest.approx(7.375 * 25.4 - plan.left_over.fore_aft)
    assert plans[0].rotation_then == pytest.approx(4.0 - plans[0].left_over.rotation)
    assert [one.name for one in cards[1].then] == ["Bar to axle", "Carrier"]


def test_marks_say_what_to_set_before_why(chief: Client, people: People, garage: Garage) -> None:
    pairs = [("1/1", "0.5"), ("2/1", "1.5"), ("1/2", "1.0"), ("2/2", "2.0")]
    with viewing_as(people.chief.pk):
        bench = bench_for(people, garage, "1.5", *pairs)
        take_typed(
            by=people.chief, sheet=bench, typed={"block-marks.left": "1/1", "camber.left": "0.5"}
        )
        left, right = side_cards(side_marks(sheet_figures(bench, people.chief)))
    assert left.todo == "set 2 / 1"
    assert "<svg" in left.rows[0].strip
    assert right.todo == ""
    page = chief.get(f"/sheets/{bench.pk}/marks").content.decode()
    assert page.index("set 2 / 1</span>") < page.index("From what this car")


def test_ballast_comes_with_the_weight_over_its_least_and_the_shares(
    chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        for mass in ("10 lb", "12 lb", "3 lb"):
            piece(people, "7", mass)
    page = chief.get(f"/sheets/{evening.sheet.pk}/ballast?{ASKED}").content.decode()
    assert "at least 331.0 lb, with the margin" in page
    card = page.partition("At the weighing")[2]
    assert 'class="gauge"' in card.partition("Left side %")[0]
    assert 'class="gauge"' in card.partition("Left side %")[2]
    assert page.index("At the weighing") < page.index("Class minimum")


def test_what_if_draws_cross_and_heights(chief: Client, evening: Evening) -> None:
    page = chief.get(f"/sheets/{evening.sheet.pk}/what-if?LF=1").content.decode()
    cross, corners = page.partition('class="at-corners"')[::2]
    assert cross.count('class="gauge"') == 1
    assert corners.partition('id="rest"')[0].count('class="gauge"') == 4


def test_rods_answer_before_they_ask(chief: Client, people: People, evening: Evening) -> None:
    read = {"rear-bar.left": "7 1/4", "rear-bar.right": "7 1/2"}
    read |= {"carrier-rotation.left": "4", "carrier-rotation.right": "5"}
    with viewing_as(people.chief.pk):
        evening.take(read)
    page = chief.get(f"/sheets/{evening.sheet.pk}/rods?{RODS}").content.decode()
    assert page.index("Left end") < page.index("Set the car on stands") < page.index("Threads")
