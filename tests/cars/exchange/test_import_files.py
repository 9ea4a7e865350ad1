"""Files as people and programs write them, and hostile ones: read rightly or refused by name."""

import io
import subprocess
import sys
import zipfile
from collections.abc import Callable
from datetime import datetime

import pytest
import xlsxwriter

from cars.exchange.files.import_file import read_table
from cars.exchange.files.import_table import MOST_ROWS, TableRefused
from tests.cars.exchange.importing import workbook

MEMORY = 80_000_000  # bytes above what the process begins with
MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def cells(content: bytes | str, name: str = "t.csv") -> list[list[str]]:
    """The cells of a file."""
    content = content.encode() if isinstance(content, str) else content
    return [row for _, row in read_table(name, content).rows]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_found(separator: str) -> None:
    rows = [["Date", "Car", "Cross"], ["2026-03-14", "7", "52"], ["2026-03-15", "7", "53"]]
    assert cells("\r\n".join(separator.join(row) for row in rows)) == rows


def test_a_decimal_comma_does_not_part_a_cell() -> None:
    assert cells("Car;Lap;Cross\n7;7,41;52,1\n7;7,52;52,3\n")[1] == ["7", "7,41", "52,1"]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_the_encoding_is_found(encoding: str) -> None:
    assert cells("Höhe,Car\n2 ¼,7\n".encode(encoding))[0] == ["Höhe", "Car"]
    notes = read_table("t.csv", "Höhe,Car\n2,7\n".encode(encoding)).notes
    assert bool(notes) == (encoding == "cp1252")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        ("Höhe,7\n".encode() + "Höhe,8\n".encode("cp1252"), "line 1 is UTF-8, line 2 is not"),
        (b"\xff\xfeA", "breaks off"),
        (b"a,b\n\x00,1\n", "not a text file"),
        (b"\x81\x8d\x8f\n", "no encoding known"),
        (b'a,b\n"1,2\n', "not closed"),
        (b"", "Nothing stands"),
        (b"\xd0\xcf\x11\xe0old", "old kind"),
        (b"PK\x03\x04torn", "cannot be read"),
        (b"x," * 300, "At most 200"),
        (b"x" * 5000, "more than 4000 signs"),
        (b"1,2\n" * (MOST_ROWS + 1), "More than 5000 rows"),
        (b"x" * 8_000_001, "larger than 8 MB"),
    ],
)
def test_what_cannot_be_read_rightly_is_refused(content: bytes, why: str) -> None:
    with pytest.raises(TableRefused, match=why):
        read_table("t.csv", content)


def test_a_workbook_is_read_as_it_is_shown() -> None:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        shown = {
            name: book.add_format({"num_format": code})
            for name, code in (
                *(("date", "dd.mm.yyyy"), ("time", "h:mm AM/PM"), ("both", "yyyy-mm-dd hh:mm")),
                *(("lap", "mm:ss.00"), ("share", "0.0%"), ("fraction", "# ?/?")),
            )
        }
        when = datetime(2026, 3, 14, 10, 20)
        sheet.write_datetime(0, 0, when.replace(hour=0, minute=0), shown["date"])
        sheet.write_number(0, 1, 10.5 / 24, shown["time"])
        sheet.write_datetime(0, 2, when, shown["both"])
        sheet.write_number(0, 3, 7.41 / 86_400, shown["lap"])
        sheet.write_number(0, 4, 0.521, shown["share"])
        sheet.write_number(0, 5, 2.25, shown["fraction"])
        sheet.write_number(0, 6, 7.4100000000000001)
        sheet.write_formula(0, 7, "=1+1", None, 2)
        sheet.write_rich_string(0, 8, "Bl", shown["fraction"], "ue")
        sheet.write_boolean(0, 9, True)
    table = read_table("t.xlsx", out.getvalue())
    assert table.rows[0][1] == [
        *("2026-03-14", "10:30", "2026-03-14 10:20:00", "00:00:07.41", "52.1%", "2.25", "7.41"),
        *("2", "Blue", "yes"),
    ]
    assert table.notes == ["One cell holds a formula: the value it was saved with is read."]


def test_dates_of_a_workbook_that_counts_from_1904() -> None:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, "date_1904": True}) as book:
        shown = book.add_format({"num_format": "yyyy-mm-dd"})
        book.add_worksheet().write_datetime(0, 0, datetime(2026, 3, 14), shown)
    assert cells(out.getvalue()) == [["2026-03-14"]]


def with_sheet(xml: str, **more: bytes) -> bytes:
    """A workbook whose sheet is this."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook([["a"]]))) as plain,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made,
    ):
        for name in plain.namelist():
            content = plain.read(name)
            if name == "xl/worksheets/sheet1.xml":
                content = f"<worksheet {MAIN}>{xml}</worksheet>".encode()
            made.writestr(name, content)
        for name, content in more.items():
            made.writestr(name.replace("__", "/"), content)
    return out.getvalue()


def row(*texts: str, number: int = 1) -> str:
    return f'<row r="{number}">' + "".join(texts) + "</row>"


@pytest.mark.parametrize(
    ("xml", "where", "why"),
    [
        (row('<c r="B1"><f>A1+1</f></c>'), (1, 1), "formula without its value"),
        (row('<c r="C1" t="e"><f>1/0</f><v>#DIV/0!</v></c>'), (1, 2), "#DIV/0!"),
        (row('<c r="A1"><v>many</v></c>'), (1, 0), "cannot be read as a number"),
        (
            row('<c r="A1"><v>1</v></c>') + '<mergeCells><mergeCell ref="A1:B1"/></mergeCells>',
            (1, 0),
            "A1:B1 are merged",
        ),
    ],
)
def test_a_cell_that_says_nothing_sure_is_told_by_row_and_column(
    xml: str, where: tuple[int, int], why: str
) -> None:
    (flaw,) = read_table("t.xlsx", with_sheet(xml)).flaws
    assert (flaw.row, flaw.column) == where
    assert why in flaw.message


BOMB = "<row>" + "<c><v>1</v></c>" * 190 + "</row>"
LAST = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "every row": (
        lambda: with_sheet(
            "".join(f'<row r="{n}"><c><v>1</v></c></row>' for n in range(1, 1_048_577))
        ),
        "More than 5000 rows",
    ),
    "the last cell": (
        lambda: with_sheet('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'),
        "XFD",
    ),
    "zip bomb": (lambda: with_sheet(" " * 59_000_000), "Unpacked"),
    "larger bomb": (lambda: with_sheet(" " * 120_000_000), "Unpacked"),
    "one cell": (lambda: with_sheet(f"<row><c><v>{'1' * 9_000_000}</v></c></row>"), "4000 signs"),
    "wide rows": (lambda: with_sheet(BOMB * 6_000), "Unpacked|more text"),
    "many parts": (lambda: with_sheet("", **{f"x{n}": b"" for n in range(600)}), "parts"),
    "entities": (
        lambda: _with_doctype(),  # noqa: PLW0108 (it stands below)
        "declares entities",
    ),
    "macros": (lambda: with_sheet("", **{"xl__vbaProject.bin": b"x"}), "macros"),
    "many texts": (
        lambda: with_sheet(
            '<row><c t="s"><v>0</v></c></row>',
            **{
                "xl/sharedStrings.xml": b"<sst>"
                + b"".join(b"<si><t>%05d</t></si>" % each for each in range(420_000))
                + b"</sst>"
            },
        ),
        "1",
    ),
    "csv rows": (lambda: b"1,2\n" * 1_048_576, "More than 5000 rows"),
    "csv cell": (lambda: b"x" * 7_900_000, "4000 signs"),
}


def _with_doctype() -> bytes:
    out = io.BytesIO()
    bomb = '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]><worksheet>&b;</worksheet>'
    with (
        zipfile.ZipFile(io.BytesIO(workbook([["a"]]))) as plain,
        zipfile.ZipFile(out, "w") as made,
    ):
        for name in plain.namelist():
            sheet = name == "xl/worksheets/sheet1.xml"
            made.writestr(name, bomb if sheet else plain.read(name))
    return out.getvalue()


MEASURE = """
import re, sys
from cars.exchange.files.import_file import read_table
from cars.exchange.files.import_table import TableRefused
def most():
    \"\"\"Bytes held at most since the program began (proc(5), VmHWM).\"\"\"
    return int(re.search(r"VmHWM:\\s+(\\d+)", open("/proc/self/status").read())[1]) * 1024
content = sys.stdin.buffer.read()
before = most()
try:
    said = str(len(read_table(sys.argv[1], content).rows))
except TableRefused as refused:
    said = str(refused)
print(most() - before)
print(said)
"""


@pytest.mark.parametrize("which", HOSTILE)
def test_a_hostile_file_is_refused_in_bounded_memory(which: str) -> None:
    make, why = HOSTILE[which]
    name = "t.csv" if which.startswith("csv") else "t.xlsx"
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, name], input=make(), capture_output=True, check=True
    )
    used, _, said = done.stdout.decode().partition("\n")
    assert int(used) < MEMORY
    assert any(each in said for each in why.split("|")), said


def test_a_workbook_with_macros_is_refused_by_its_name() -> None:
    with pytest.raises(TableRefused, match="macros"):
        read_table("t.XLSM", workbook([["a"]]))


def test_a_million_rows_that_are_only_formatted_are_no_rows() -> None:
    empty = "".join(f'<row r="{n}" s="1"/>' for n in range(2, 900_000))
    assert cells(with_sheet(row('<c r="A1"><v>7</v></c>') + empty)) == [["7"]]
