"""Files to bring in, and bringing them in."""

import io
from typing import Any

import xlsxwriter

from cars.exchange.actions.imports import begin_import, confirm_import
from cars.exchange.queries.import_rows import read_import
from cars.models import Import
from clubsetup.access.models import User
from teams.models import Team

RUNS = """Date;Time;Car;Kind;Laps
2026-03-14;10:20;7;practice;7,41 7,52 7,48
2026-03-14;11:05;Blue;heat;7,44 7,40
"""
SHEETS = """Date,Car,Ride height LF (mm),RF ride height,Weight LF,Cross,Fuel (gal)
3/14/2026,7,57,2 3/8,101.5,52.1,0.5
3/21/2026,7,58.5 mm,2-1/4,102 lb,52.4,
"""


def sent(by: User, team: Team, content: Any, kind: str = "runs", name: str = "t.csv") -> Import:
    """A draft of a file."""
    content = content.encode() if isinstance(content, str) else content
    return begin_import(by=by, team=team, kind=kind, file_name=name, content=content)


def problems(row: Import, by: User) -> list[tuple[int, int, str]]:
    """Row, column and sentence of each."""
    return [(each.row, each.column, each.message) for each in read_import(row, by).problems]


def brought_in(by: User, team: Team, content: Any, kind: str = "runs") -> Import:
    """A file that is brought in."""
    return confirm_import(by=by, row=sent(by, team, content, kind))


def workbook(rows: list[list[Any]]) -> bytes:
    """An XLSX of these rows."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
    return out.getvalue()
