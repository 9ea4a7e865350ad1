"""The coach's board as it is read: a measure a row, the odd one out named."""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.safestring import SafeString

from cars.figures.formatting import format_box, format_figure
from cars.figures.tolerances import tolerance_of
from cars.history.queries.board import Board, BoardCar, BoardRow
from cars.mechanics.board import FEWEST
from cars.models import Car, Measure
from clubsetup.access.models import User
from clubsetup.plots.bands import Band
from clubsetup.plots.spread import Member, spread
from clubsetup.quantities.units import Units

_DIGITS = Decimal("0.000001")


@dataclass(frozen=True, slots=True)
class OddOne:
    """A car that stands apart in a measure, and where to advise on it."""

    car: Car
    mark: str  # 'high' or 'low', as it stands to the middle
    says: str  # '1/8 in over the middle'
    score: str
    advise_url: str


@dataclass(frozen=True, slots=True)
class BoardLine:
    """One box of all cars. `lacks`: why there is no middle."""

    row: BoardRow
    name: str
    strip: SafeString
    middle: str
    spread: str
    odd: list[OddOne]
    lacks: str
    figures: list[tuple[Car, str, bool]]  # of each car, and whether its sheet is old


@dataclass(frozen=True, slots=True)
class BoardStep:
    """The lines of one step, the oddest first. `says`: '2 measures, cars 24 and 7'."""

    name: str
    lines: list[BoardLine]
    says: str


@dataclass(frozen=True, slots=True)
class BoardShown:
    """`odd_steps` first, that with the oddest car before the others; `even_steps` as one works.

    `often`: the cars that are odd, and in how many measures.
    """

    board: Board
    odd_steps: list[BoardStep]
    even_steps: list[BoardStep]
    even_count: int
    thin_lines: list[BoardLine]
    often: list[tuple[Car, int]]
    judged: int
    lead: str
    too_few: bool


def board_shown(board: Board, viewer: User) -> BoardShown:
    """In the viewer's units."""
    units = viewer.units(board.chassis.club.units())
    lines = [_line(row, units) for row in board.rows]
    told = [line for line in lines if line.row.field]
    odd = [line for line in told if line.odd]
    even = [line for line in told if not line.odd]
    cars = {one.car.pk: one.car for one in board.counted}
    count = Counter(one.car.pk for line in odd for one in line.odd)
    often = [(cars[pk], times) for pk, times in count.most_common()]
    return BoardShown(
        board=board,
        odd_steps=sorted(_steps(odd), key=lambda step: -_oddness(step.lines[0])),
        even_steps=_steps(even),
        even_count=len(even),
        thin_lines=[line for line in lines if not line.row.field],
        often=often,
        judged=len(told),
        lead=_lead(board, often, len(told)),
        too_few=len(board.counted) < FEWEST,
    )


def _steps(lines: list[BoardLine]) -> list[BoardStep]:
    """In the order of work, each with its oddest line first."""
    of_step: dict[str, list[BoardLine]] = {}
    for line in lines:
        of_step.setdefault(line.row.measure.step.name, []).append(line)
    return [
        BoardStep(name, sorted(these, key=lambda line: -_oddness(line)), _says(these))
        for name, these in of_step.items()
    ]


def _oddness(line: BoardLine) -> float:
    return max((abs(score) for _, score in line.row.odd), default=0.0)


def _says(lines: list[BoardLine]) -> str:
    measures = f"{len(lines)} measure{'s' * (len(lines) != 1)}"
    numbers = sorted({one.car.number for line in lines for one in line.odd})
    if not numbers:
        return measures
    more = f" and {len(numbers) - 3} more" if len(numbers) > 3 else ""
    return f"{measures}, car{'s' * (len(numbers) != 1)} {', '.join(numbers[:3])}{more}"


def _lead(board: Board, often: list[tuple[Car, int]], judged: int) -> str:
    counted = len(board.counted)
    if counted < FEWEST:
        cars = "car has" if counted == 1 else "cars have"
        return (
            f"{counted} {cars} a new enough closed sheet as set. From {FEWEST} cars up the board "
            "says which is the odd one out."
        )
    if not often:
        return "No car is the odd one out in any measure." if judged else "No figure in common."
    (car, most), *_ = often
    same = [each for each, times in often if times == most]
    measures = "one measure" if most == 1 else f"{most} measures"
    if len(same) == 1:
        return f"{car} is the odd one out in {measures}."
    named = ", ".join(str(each) for each in same[:4])
    more = f" and {len(same) - 4} more" if len(same) > 4 else ""
    return f"{named}{more} are each the odd one out in {measures}."


def _line(row: BoardRow, units: Units) -> BoardLine:
    measure, field = row.measure, row.field
    figures = [
        (one.car, format_figure(one.figures[row.key].value, measure, units), one.is_old)
        for one in sorted([*row.cars, *row.old], key=lambda one: one.car.number)
    ]
    name = format_box(measure, row.key.spot)
    if field is None:
        cars = f"{len(row.cars)} car{'s' * (len(row.cars) != 1)}"
        return BoardLine(row, name, SafeString(""), "", "", [], f"{cars}: from four up", figures)
    return BoardLine(
        row=row,
        name=name,
        strip=_strip(row, name),
        middle=_figure(field.middle, measure, units),
        spread=f"± {_figure(field.spread, measure, units, delta=True)}",
        odd=[_odd(row, one, score, units) for one, score in row.odd],
        lacks="",
        figures=figures,
    )


def _odd(row: BoardRow, one: BoardCar, score: float, units: Units) -> OddOne:
    middle = row.field.middle if row.field else 0.0
    apart = float(one.figures[row.key].value) - middle
    mark, way = ("high", "over") if apart > 0 else ("low", "under")
    says = f"{_figure(abs(apart), row.measure, units, delta=True)} {way} the middle"
    address = reverse("car-advise", args=[one.car.pk])
    query = urlencode({"box": str(row.key)})
    return OddOne(one.car, mark, says, f"{abs(score):.1f}", f"{address}?{query}")


def _figure(value: float, measure: Measure, units: Units, *, delta: bool = False) -> str:
    exact = Decimal(repr(value)).quantize(_DIGITS).normalize()
    return format_figure(exact, measure, units, delta=delta).removeprefix("about ")


def _strip(row: BoardRow, name: str) -> SafeString:
    """Shaded: the target with its tolerance, or the middle with the usual one."""
    if row.field is None:
        return SafeString("")
    target = row.target
    band = (
        Band.around(target.target, target.tolerance)
        if target and target.tolerance > 0
        else Band.around(row.field.middle, tolerance_of(row.measure))
    )
    odd = {one.car.pk for one, _ in row.odd}
    members = [
        Member(float(one.figures[row.key].value), one.car.number, one.car.pk in odd)
        for one in row.cars
    ]
    return SafeString(spread(band, members, name=f"Where {len(members)} cars stand: {name}"))
