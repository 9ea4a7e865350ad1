"""A team's archive as a spreadsheet: a sheet a kind, units in the headers, no formula anywhere.

Rows go to the disk as they come (`constant_memory`), and text is written as text whatever it
begins with.
"""

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import UUID

import xlsxwriter
from django.db.models import DateTimeField, Field, ForeignKey

from cars.exchange.files.archive_json import plain
from cars.exchange.queries.archive_kinds import ArchiveKind
from cars.exchange.queries.archive_rows import Names, Values

FILE = "team.xlsx"
MOST_ROWS = 1_048_576  # of a sheet, its header counted
MOST_LETTERS = 32_767  # of a cell
TOO_LONG = "(longer than a cell holds: see team.json)"
OF_THE_MEASURE = "unit of the measure"
OPTIONS = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
    "remove_timezone": True,
}


class ArchiveWorkbook:
    """The workbook as it is written; one sheet is open at a time."""

    def __init__(self, path: Path, names: Names, measures: Mapping[str, Mapping[str, str]]) -> None:
        """`measures` say name and unit of each measure."""
        self._book = xlsxwriter.Workbook(str(path), {**OPTIONS, "tmpdir": str(path.parent.parent)})
        self._bold = self._book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self._day = self._book.add_format({"num_format": "yyyy-mm-dd"})
        self._moment = self._book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"})
        self._names, self._measures = names, measures
        self._title, self._headers = "", [""]

    def begin_sheet(self, title: str, headers: Sequence[str]) -> None:
        """A sheet with its headers; rows come after."""
        self._title, self._headers, self._parts = title, list(headers), 1
        self._open(title)

    def begin_kind(self, kind: ArchiveKind) -> None:
        """The sheet of a kind."""
        self._kind = kind
        self._fields = kind.columns
        self._has_unit = any(map(kind.is_of_measure, self._fields))
        headers = [_header(kind, column) for column in self._fields]
        self.begin_sheet(kind.name, [*headers, *([OF_THE_MEASURE] if self._has_unit else [])])

    def add(self, rows: Sequence[Values]) -> None:
        """Some rows of the kind that was begun."""
        self._names.look_up(self._kind, rows)
        for row in rows:
            cells = [
                self._names.of(column.related_model, value)
                if isinstance(column, ForeignKey) and value is not None
                else value
                for column, value in zip(self._fields, row, strict=True)
            ]
            self.add_row([*cells, *([self._unit_of(row)] if self._has_unit else [])])

    def add_row(self, cells: Sequence[Any]) -> None:
        """One row of the sheet that was begun; a sheet that is full goes on in another."""
        if self._row == MOST_ROWS:
            self._parts += 1
            self._open(f"{self._title} {self._parts}")
        for place, value in enumerate(cells):
            self._write(place, value)
        self._row += 1

    def close(self) -> None:
        """Packs the workbook; nothing of the database is needed for it."""
        self._book.close()

    def _open(self, title: str) -> None:
        self._sheet = self._book.add_worksheet(title[:31])
        self._sheet.freeze_panes(1, 1)
        self._sheet.set_column(0, len(self._headers) - 1, 16)
        for place, header in enumerate(self._headers):
            self._sheet.write_string(0, place, header, self._bold)
        self._row = 1

    def _unit_of(self, row: Values) -> str:
        slug = next(v for c, v in zip(self._fields, row, strict=True) if c.name == "measure")
        return str(self._measures.get(slug, {}).get("unit", ""))

    def _write(self, place: int, value: Any) -> None:
        where = self._row, place
        if value is None or value == "":
            return
        if isinstance(value, bool):
            self._sheet.write_boolean(*where, value)
        elif isinstance(value, int | float | Decimal):
            self._sheet.write_number(*where, float(value))
        elif isinstance(value, datetime):
            self._sheet.write_datetime(*where, value.astimezone(UTC), self._moment)
        elif isinstance(value, date):
            self._sheet.write_datetime(*where, value, self._day)
        else:
            text = _as_text(value)
            self._sheet.write_string(*where, text if len(text) <= MOST_LETTERS else TOO_LONG)


def _header(kind: ArchiveKind, column: "Field[Any, Any]") -> str:
    if unit := kind.unit_of(column):
        return f"{column.verbose_name} ({unit})"
    if kind.is_of_measure(column):
        return f"{column.verbose_name} ({OF_THE_MEASURE})"
    if isinstance(column, DateTimeField):
        return f"{column.verbose_name} (UTC)"
    return str(column.verbose_name)


def _as_text(value: Any) -> str:
    if isinstance(value, str | UUID):
        return str(value)
    if isinstance(value, list) and all(
        isinstance(one, str | int | float | Decimal) for one in value
    ):
        return " ".join(str(plain(one)) for one in value)
    return json.dumps(plain(value), ensure_ascii=False)
