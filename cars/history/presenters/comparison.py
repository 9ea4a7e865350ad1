"""Sheets side by side as somebody reads them: what is apart, furthest first, the rest counted."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from uuid import UUID

from django.utils.safestring import SafeString

from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.figures.derived import Figure
from cars.figures.formatting import format_figure, format_verdict
from cars.figures.judgement import FigureOutcome, judge
from cars.history.queries.comparison import (
    ComparedBox,
    ComparedSheet,
    ComparedSheets,
    is_of_another_chassis,
)
from cars.models import Measure, Part, Sheet, Spot
from cars.models.catalogue import Taken
from cars.sheets.presenters.target_sources import source_name
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from clubsetup.plots.bands import Band
from clubsetup.plots.lettered import Lettered, lettered_strip
from clubsetup.quantities.kinds import Kind, steps_of
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units

LETTERS = "ABCDEFGHIJKL"
MILLION = 10**6
NOTED = (FigureOutcome.OFF, FigureOutcome.TOO_CLOSE)


@dataclass(frozen=True, slots=True)
class SheetHead:
    """A sheet under its letter."""

    letter: str
    sheet: Sheet
    what: str  # 'as set, 29 Nov 2026, Alder Hollow'
    first: str = ""  # what the address asks with to hold the others against this one

    @property
    def car(self) -> str:
        return str(self.sheet.car)


@dataclass(frozen=True, slots=True)
class Cell:
    """What one sheet says of a measure."""

    letter: str
    text: str = ""
    look: str = ""  # only of an exception
    mark: str = ""  # one of clubsetup.plots.marks
    words: str = ""
    difference: str = ""  # from the first sheet, where it is more than the tools can tell


@dataclass(frozen=True, slots=True)
class Row:
    """A measure on every sheet."""

    name: str
    unit: str
    apart: str
    cells: tuple[Cell, ...]
    strip: str = ""
    tolerance: str = ""


@dataclass(frozen=True, slots=True)
class ComparisonView:
    """The whole comparison in the reader's words and units."""

    heads: list[SheetHead]
    apart: list[Row]
    alike: list[Row]
    not_compared: list[Row]
    words: list[Row]
    targets: str
    lede: str
    is_wide: bool

    @property
    def title(self) -> str:
        """'Three sheets side by side'."""
        return f"{_COUNTS[len(self.heads)]} sheets side by side"


_COUNTS = dict(
    enumerate(
        "Two Three Four Five Six Seven Eight Nine Ten Eleven Twelve".split(),  # noqa: SIM905
        2,
    )
)
WIDE = 4  # more sheets than this lie across the paper
FEW, MANY = 360.0, 280.0  # user units of a strip


def show_comparison(
    compared: ComparedSheets, viewer: User, *, with_parts: bool = True
) -> ComparisonView:
    """For `viewer`, in their units; the database is asked nothing."""
    first = compared.sheets[0]
    units = viewer.units(first.sheet.team.club.units())
    heads = _heads(compared.sheets)
    told = compared.told
    return ComparisonView(
        heads=heads,
        apart=[_row(box, compared, units, is_told=True) for box in told],
        alike=[_row(box, compared, units) for box in compared.alike],
        not_compared=[_row(box, compared, units) for box in compared.not_compared],
        words=[*_words(compared), *(_parts(compared) if with_parts else [])],
        targets=source_name(compared.source),
        lede=_lede(told),
        is_wide=len(heads) > WIDE,
    )


def _heads(sheets: Sequence[ComparedSheet]) -> list[SheetHead]:
    ids = [each.sheet.pk for each in sheets]
    return [
        SheetHead(letter, each.sheet, sheet_name(each.sheet), _with_first(ids, each.sheet.pk))
        for letter, each in zip(LETTERS, sheets, strict=False)
    ]


def _with_first(ids: Sequence[UUID], first: UUID) -> str:
    return ",".join(str(pk) for pk in (first, *(pk for pk in ids if pk != first)))


def sheet_name(sheet: Sheet) -> str:
    """'as set, 29 Nov 2026, Alder Hollow'."""
    words = [sheet.get_role_display().lower(), day(sheet.made_on)]
    words += [str(sheet.track)] if sheet.track else []
    words += [f"version {sheet.version}"] if sheet.version > 1 else []
    words += ["still open"] if sheet.state == Sheet.State.OPEN else []
    return ", ".join(words)


def _lede(told: Sequence[ComparedBox]) -> str:
    if not told:
        return "Nothing is apart from A by more than the tools can tell."
    furthest = told[0]
    sizes = [
        0.0 if each is None or not each.is_told else each.in_tolerances(furthest.tolerance)
        for each in furthest.differences
    ]
    letter = LETTERS[sizes.index(max(sizes))]
    name = box_name(furthest.measure, furthest.key.spot)
    return f"{letter} is furthest from A in {name}: {_tolerances(furthest)} tolerances."


def box_name(measure: Measure, spot: str) -> str:
    """'Ride height RF'; of a measure with one box its name alone."""
    return f"{measure.name} {spot}" if len(measure.spots) > 1 else measure.name


def unit_suffix(measure: Measure, units: Units) -> str:
    """'in', '%'; the measure's name may say its own."""
    suffix = unit_of(Kind(measure.kind), units.for_kind(Kind(measure.kind))).suffix.strip()
    return "" if suffix and measure.name.endswith(suffix) else suffix


def _tolerances(box: ComparedBox) -> str:
    return "" if box.apart is None else f"{box.apart:.1f}"


def _row(box: ComparedBox, compared: ComparedSheets, units: Units, *, is_told: bool = False) -> Row:
    cells = tuple(
        _cell(index, each, box, compared.sheets[0], units)
        for index, each in enumerate(compared.sheets)
    )
    return Row(
        box_name(box.measure, box.key.spot),
        unit_suffix(box.measure, units),
        _tolerances(box),
        cells,
        _strip(box, MANY if len(compared.sheets) > WIDE else FEW) if is_told else "",
        format_figure(box.tolerance, box.measure, units, delta=True, bare=True)
        + ("" if box.has_own_tolerance else ", the usual"),
    )


def _cell(
    index: int, of: ComparedSheet, box: ComparedBox, first: ComparedSheet, units: Units
) -> Cell:
    figure, letter = box.figures[index], LETTERS[index]
    if figure is None:
        return Cell(letter, "–", words="not taken")
    text = format_figure(figure.value, box.measure, units, bare=True)
    text = f"({text})" if box.key in of.carried else text
    if box.key in of.stale:
        return Cell(letter, text, "again", "again", "retake, not compared")
    if is_of_another_chassis(box.key, of, first):
        return Cell(letter, text, words="another chassis, not compared")
    apart = box.differences[index]
    difference = ""
    if index and apart is not None and apart.is_told:
        difference = _difference(box.figures[0], figure, box.measure, units)
    if box.standard is not None:
        judged = judge(figure.value, box.standard.target, box.standard.tolerance, figure.reach)
        if judged.outcome in NOTED:
            look, _, words = format_verdict(box.measure, judged, units)
            side = "high" if judged.is_more else "low"
            mark = side if judged.outcome is FigureOutcome.OFF else "waves"
            return Cell(letter, text, look, mark, words, difference)
    return Cell(letter, text, difference=difference)


def _difference(one: Figure | None, other: Figure, measure: Measure, units: Units) -> str:
    """'+2', taken in the reader's unit, so that 11 psi less 9 psi is 2 psi however it is kept."""
    if one is None:
        return ""
    kind = Kind(measure.kind)
    unit = unit_of(kind, units.for_kind(kind))
    first, second = (unit.count(steps_of(each.value), MILLION) for each in (one, other))
    amount = unit.to_canonical(Fraction(second - first, MILLION))
    text = format_figure(amount, measure, units, delta=True, bare=True).removeprefix("about ")
    if text.strip("−0.") == "":
        return ""  # too small to be written
    return f"+{text}" if second > first else text


def _strip(box: ComparedBox, length: float) -> SafeString:
    """On the target's band; without a target on one tolerance round the first sheet's figure."""
    first = box.figures[0]
    middle = box.standard.target if box.standard else first.value if first else box.tolerance
    figures = [
        Lettered(letter, float(figure.value))
        for letter, figure, compared in zip(LETTERS, box.figures, box.differences, strict=False)
        if figure is not None and compared is not None
    ]
    return SafeString(lettered_strip(Band.around(middle, box.tolerance), figures, length=length))


def _words(compared: ComparedSheets) -> list[Row]:
    """What is noted in words and is another on one sheet than on the first."""
    rows = []
    first = compared.sheets[0]
    for measure in cached_catalogue().measures.values():
        if measure.taken != Taken.WORDS:
            continue
        for key in (Key(measure.pk, spot) for spot in measure.spots):
            noted = [
                None if is_of_another_chassis(key, each, first) else each.words.get(key)
                for each in compared.sheets
            ]
            rows += _differing(box_name(measure, key.spot), noted)
    return rows


def _parts(compared: ComparedSheets) -> list[Row]:
    """Parts that are other ones than on the first sheet, as far as the viewer may see them."""
    rows = []
    places = dict.fromkeys(place for each in compared.sheets for place in each.parts)
    for sort, spot in places:
        fitted = [each.parts.get((sort, spot)) for each in compared.sheets]
        ids = {part[0] for part in fitted if part}
        if len(ids) < 2:
            continue
        names = [None if part is None else part[1] or "without a code" for part in fitted]
        where = "" if spot == Spot.CAR else f" {spot}"
        rows.append(_of_words(f"{Part.Sort(sort).label}{where}", names))
    return rows


def _differing(name: str, noted: Sequence[str | None]) -> list[Row]:
    first = noted[0]
    others = [each for each in noted[1:] if each is not None]
    if first is None or all(_plain(each) == _plain(first) for each in others):
        return []
    return [_of_words(name, noted)]


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _of_words(name: str, noted: Iterable[str | None]) -> Row:
    cells = (
        Cell(letter, text or "–", words="" if text else "not noted")
        for letter, text in zip(LETTERS, noted, strict=False)
    )
    return Row(name, "", "another", tuple(cells))
