"""A comparison as a file: CSV and XLSX, units in the headers."""

import csv
from collections.abc import Iterator
from decimal import Decimal
from io import BytesIO, StringIO

import xlsxwriter
from django.http import HttpResponse

from cars.figures.formatting import format_figure
from cars.history.presenters.comparison import LETTERS, box_name, sheet_name, unit_suffix
from cars.history.queries.comparison import ComparedBox, ComparedSheets
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind, steps_of
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units

Value = str | Decimal
TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")  # what a spreadsheet would take for one
_PLACES = 6


def comparison_file(compared: ComparedSheets, viewer: User, kind: str) -> HttpResponse:
    """The file to keep. Raises Invalid for a kind that is none."""
    if kind not in TYPES:
        raise Invalid("as", "A comparison is to be had as csv or xlsx.")
    lines = list(_lines(compared, viewer))
    content = _csv(lines) if kind == "csv" else _xlsx(lines)
    answer = HttpResponse(content, content_type=TYPES[kind])
    answer["Content-Disposition"] = f'attachment; filename="comparison.{kind}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def _lines(compared: ComparedSheets, viewer: User) -> Iterator[list[Value]]:
    """A line a box with a figure, the furthest apart first; figures as numbers in one unit."""
    units = viewer.units(compared.sheets[0].sheet.team.club.units())
    heads = [
        f"{letter}: {each.sheet.car}, {sheet_name(each.sheet)}"
        for letter, each in zip(LETTERS, compared.sheets, strict=False)
    ]
    yield [
        *("Measure", "Unit (of figures, target, tolerance)", "What", "Apart (tolerances)"),
        *("Target", "Tolerance"),
        *heads,
    ]
    for words, boxes in (
        ("apart", compared.told),
        ("no more apart than the tools can tell", compared.alike),
        ("not compared", compared.not_compared),
    ):
        for box in boxes:
            yield _line(box, words, compared, units)


def _line(box: ComparedBox, words: str, compared: ComparedSheets, units: Units) -> list[Value]:
    measure = box.measure
    figures: list[Value] = []
    for each, figure in zip(compared.sheets, box.figures, strict=True):
        if figure is None:
            figures.append("")
        elif box.key in each.stale:
            text = format_figure(figure.value, measure, units, bare=True)
            figures.append(f"retake (was {text})")
        else:
            figures.append(_number(figure.value, measure.kind, units))
    return [
        box_name(measure, box.key.spot),
        unit_suffix(measure, units),
        words,
        "" if box.apart is None else Decimal(f"{box.apart:.2f}").normalize(),
        _number(box.standard.target, measure.kind, units) if box.standard else "",
        _number(box.tolerance, measure.kind, units, delta=True),
        *figures,
    ]


def _number(value: Decimal, kind: str, units: Units, *, delta: bool = False) -> Decimal:
    """The value in the reader's unit, to a millionth."""
    unit = unit_of(Kind(kind), units.for_kind(Kind(kind)))
    count = unit.count(steps_of(value), 10**_PLACES, delta=delta)
    return Decimal(count).scaleb(-_PLACES).normalize()


def harmless(text: str) -> str:
    """Text that a spreadsheet would take for a formula, with the mark that makes it text."""
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA) else text


def _csv(lines: list[list[Value]]) -> str:
    out = StringIO()
    writer = csv.writer(out)
    for line in lines:
        writer.writerow([harmless(v) if isinstance(v, str) else f"{v:f}" for v in line])
    return "\ufeff" + out.getvalue()


def _xlsx(lines: list[list[Value]]) -> bytes:
    out = BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_numbers": False,
        "strings_to_urls": False,
    }
    with xlsxwriter.Workbook(out, options) as book:
        sheet = book.add_worksheet("Comparison")
        for row, line in enumerate(lines):
            for column, value in enumerate(line):
                if isinstance(value, Decimal):
                    sheet.write_number(row, column, float(value))
                elif value:
                    sheet.write_string(row, column, value)
        sheet.freeze_panes(1, 1)
        sheet.set_column(0, 0, 24)
        sheet.set_column(1, 5 + len(LETTERS), 14)
    return out.getvalue()
