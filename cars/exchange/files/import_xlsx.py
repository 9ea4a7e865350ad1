"""The cells of a workbook (ECMA-376 part 1, 18.3), read as a stream and in bounded memory.

Libraries were tried and are not used: one makes a cell of every place between the first and the
last, and 5 kB with a value in the last cell ended the process; another keeps every row it passed.
Read are values alone. Of a formula that is the value the workbook was saved with.
"""

import re
import zipfile
import zlib
from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from io import BytesIO
from pathlib import PurePosixPath
from typing import Any
from xml.parsers import expat

from cars.exchange.files.import_table import (
    LONGEST_CELL,
    MOST_COLUMNS,
    Flaw,
    Table,
    TableRefused,
    too_long,
)
from cars.exchange.queries.import_letters import column_name

MOST_PARTS = 500
MOST_UNPACKED = 60_000_000  # bytes of all parts
MOST_SHARED = 10_000_000  # bytes of the part that holds the texts
MOST_RATIO = 300  # of what is unpacked to what is sent, where that is much
MUCH = 10_000_000
MOST_MERGED = 1_000
CHUNK = 65_536
MACROS = "vbaproject.bin"
UNREADABLE = "This workbook cannot be read. Open it, save it as XLSX once more, and send that."

# ECMA-376 part 1, 18.8.30: what the formats without a code are.
BUILT_IN = {
    **dict.fromkeys((9, 10), "0%"),
    **dict.fromkeys((14, 15, 16, 17), "d"),
    **dict.fromkeys((18, 19, 20, 21, 45, 46, 47), "h"),
    22: "d h",
}
_NOT_CODE = re.compile(r'"[^"]*"|\\.|\[(?![hms]+\])[^\]]*\]|[_*].', re.IGNORECASE)
_CELL = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")
_IGNORED = frozenset({"rPh", "phoneticPr", "extLst"})


def read_xlsx(content: bytes) -> Table:
    """The first sheet that is shown. Raises TableRefused."""
    try:
        with zipfile.ZipFile(BytesIO(content)) as parts:
            _refuse_hostile(parts, len(content))
            return _Workbook(parts).table()
    except TableRefused:
        raise
    except (zipfile.BadZipFile, expat.ExpatError, KeyError, ValueError, EOFError) as error:
        raise TableRefused(UNREADABLE) from error
    except (NotImplementedError, RuntimeError, OSError, zlib.error) as error:
        raise TableRefused(UNREADABLE) from error


def _refuse_hostile(parts: zipfile.ZipFile, sent: int) -> None:
    infos = parts.infolist()
    names = [info.filename.lower() for info in infos]
    if any(name.endswith(MACROS) for name in names):
        raise TableRefused("This workbook holds macros (vbaProject.bin). Save it as XLSX without.")
    if "xl/workbook.xml" not in names:
        raise TableRefused("This is no XLSX workbook. Save the table as XLSX or CSV.")
    if any(info.flag_bits & 1 for info in infos):
        raise TableRefused("This workbook is locked by a password. Save it without one.")
    unpacked = sum(info.file_size for info in infos)
    too_dense = unpacked > MUCH and unpacked > MOST_RATIO * sent
    if len(infos) > MOST_PARTS or unpacked > MOST_UNPACKED or too_dense:
        raise TableRefused(
            f"Unpacked this workbook would be {unpacked / 1e6:.0f} MB in {len(infos)} parts, which "
            "no table of runs or sheets is. Copy the table into a new workbook, or save it as CSV."
        )


class _Workbook:
    """The parts of a workbook that its cells need."""

    def __init__(self, parts: zipfile.ZipFile) -> None:
        self.parts = parts
        self.sheets: list[tuple[str, str]] = []  # name, id of its relation
        self.from_1904 = False
        self.texts: list[str] = []
        self.formats: list[str] = []

    def table(self) -> Table:
        _parse(self.parts, "xl/workbook.xml", self._workbook)
        targets: dict[str, str] = {}
        _parse(
            self.parts,
            "xl/_rels/workbook.xml.rels",
            lambda _, given: targets.update({given.get("Id", ""): given.get("Target", "")}),
        )
        names = set(self.parts.namelist())
        if "xl/sharedStrings.xml" in names:
            self._read_texts()
        if "xl/styles.xml" in names:
            self._read_formats()
        for name, relation in self.sheets:
            path = _in_workbook(targets[relation])
            if path not in names:
                continue
            cells = _Cells(self)
            _parse(self.parts, path, cells.start, cells.end, cells.text)
            if cells.table.rows:
                return self._noted(cells, name)
        raise TableRefused("Nothing stands in this workbook.")

    def _noted(self, cells: "_Cells", name: str) -> Table:
        table = cells.table
        cells.tell_merged()
        others = len(self.sheets) - 1
        if others:
            more = "the other sheet is" if others == 1 else f"{others} other sheets are"
            table.notes.append(f"The sheet “{name[:60]}” is read, {more} not.")
        if cells.formulas:
            count = f"{cells.formulas} cells hold" if cells.formulas > 1 else "One cell holds"
            table.notes.append(f"{count} a formula: the value it was saved with is read.")
        return table

    def _workbook(self, tag: str, given: dict[str, str]) -> None:
        if tag == "workbookPr":
            self.from_1904 = given.get("date1904") in ("1", "true")
        elif tag == "sheet" and given.get("state", "visible") == "visible":
            self.sheets.append((given.get("name", ""), given.get("id", "")))

    def _read_texts(self) -> None:
        if self.parts.getinfo("xl/sharedStrings.xml").file_size > MOST_SHARED:
            raise TableRefused("This workbook holds more text than is read at once. Split it.")
        within: list[str] = []
        ignored = 0

        def start(tag: str, _: dict[str, str]) -> None:
            nonlocal ignored
            ignored += tag in _IGNORED
            if tag == "si":
                within.clear()

        def end(tag: str) -> None:
            nonlocal ignored
            ignored -= tag in _IGNORED
            if tag == "si":
                self.texts.append("".join(within))

        def text(data: str) -> None:
            # A text too long for a cell is refused where a cell holds it.
            if not ignored and len(within) <= LONGEST_CELL:
                within.append(data[: LONGEST_CELL + 1])

        _parse(self.parts, "xl/sharedStrings.xml", start, end, text)

    def _read_formats(self) -> None:
        codes = dict(BUILT_IN)
        of_cells = False

        def start(tag: str, given: dict[str, str]) -> None:
            nonlocal of_cells
            if tag == "numFmt":
                codes[int(given["numFmtId"])] = _format(given.get("formatCode", ""))
            elif tag == "cellXfs":
                of_cells = True
            elif tag == "xf" and of_cells:
                self.formats.append(codes.get(int(given.get("numFmtId", "0")), ""))

        def end(tag: str) -> None:
            nonlocal of_cells
            of_cells = of_cells and tag != "cellXfs"

        _parse(self.parts, "xl/styles.xml", start, end)


class _Cells:
    """The cells of a sheet, as they come by."""

    def __init__(self, book: _Workbook) -> None:
        self.book = book
        self.table = Table()
        self.formulas = 0
        self.merged: list[str] = []
        self.row, self.column = 0, -1
        self.cells: list[str] = []
        self.kind, self.format = "", ""
        self.has_formula = self.has_value = False
        self.in_value = 0
        self.value: list[str] = []
        self.signs = 0

    def start(self, tag: str, given: dict[str, str]) -> None:
        if tag == "row":
            self.row, self.column = int(given.get("r", self.row + 1)), -1
            self.cells = []
        elif tag == "c":
            self._begin(given)
        elif tag == "f":
            self.has_formula = True
        elif tag in ("v", "t"):
            self.in_value, self.has_value = self.in_value + 1, True
        elif tag in _IGNORED:
            self.in_value -= 1
        elif tag == "mergeCell" and len(self.merged) < MOST_MERGED:
            self.merged.append(given.get("ref", ""))

    def _begin(self, given: dict[str, str]) -> None:
        place = _CELL.fullmatch(given.get("r", ""))
        self.column = _number(place[1]) if place else self.column + 1
        style = int(given.get("s", "0"))
        self.kind = given.get("t", "n")
        self.format = self.book.formats[style] if style < len(self.book.formats) else ""
        self.has_formula = self.has_value = False
        self.value.clear()
        self.signs = 0

    def text(self, data: str) -> None:
        if self.in_value > 0:
            self.value.append(data)
            self.signs += len(data)
            if self.signs > LONGEST_CELL:
                raise TableRefused(too_long(self.row))

    def end(self, tag: str) -> None:
        if tag in ("v", "t"):
            self.in_value -= 1
        elif tag in _IGNORED:
            self.in_value += 1
        elif tag == "c":
            self._keep()
        elif tag == "row":
            self.table.add(self.row, self.cells)

    def _keep(self) -> None:
        text = self._text()
        self.formulas += self.has_formula
        if not text:
            return
        if self.column >= MOST_COLUMNS:
            raise TableRefused(
                f"Cell {column_name(self.column)}{self.row} is filled. Columns are read up to "
                f"{column_name(MOST_COLUMNS - 1)}: take out what is not to be brought in."
            )
        self.cells.extend([""] * (self.column + 1 - len(self.cells)))
        self.cells[self.column] = text

    def _text(self) -> str:  # noqa: PLR0911 (a line for each kind of cell)
        value = "".join(self.value)
        if self.has_formula and not self.has_value:
            self._flaw("A formula without its value. Write the value, or open and save the file.")
            return "?"
        if self.kind == "e":
            self._flaw(f"{value[:20]} stands here: the formula has no result. Write the value.")
            return value[:20]
        if self.kind == "s":
            return self.book.texts[int(value)].strip()
        if self.kind == "b":
            return "yes" if value == "1" else "no"
        if self.kind != "n" or not value:
            return value.strip()
        try:
            return _written(value, self.format, from_1904=self.book.from_1904)
        except (InvalidOperation, OverflowError, ValueError):
            self._flaw(f"{value[:20]} cannot be read as a number.")
            return value[:20]

    def _flaw(self, message: str) -> None:
        self.table.flaws.append(Flaw(self.row, max(self.column, 0), message))

    def tell_merged(self) -> None:
        for ref in self.merged:
            first, _, last = ref.partition(":")
            place, until = _CELL.fullmatch(first), _CELL.fullmatch(last)
            if place is None or until is None:
                continue
            message = f"Cells {ref} are merged. Part them, and write the value in each."
            self.table.flaws.append(Flaw(int(place[2]), _number(place[1]), message))
            # What is above the header is a title; a merge that reaches into it is not.
            if place[2] != until[2]:
                self.table.flaws.append(Flaw(int(until[2]), _number(until[1]), message))


def _written(value: str, code: str, *, from_1904: bool) -> str:
    """A number as it would be typed: a date as 2026-03-14, a time as 10:20, a share in percent."""
    number = Decimal(repr(float(value)))
    if not number.is_finite() or abs(number) > Decimal("1e15"):
        raise ValueError(value)
    if code == "0%":
        return f"{(number * 100).normalize():f}%"
    if "d" in code or "h" in code:
        return _moment(number, code, from_1904=from_1904)
    return f"{number.normalize():f}" if number else "0"


def _moment(number: Decimal, code: str, *, from_1904: bool) -> str:
    if number < 0:
        raise ValueError(number)
    seconds = round(number * 86_400, 3)
    if "d" not in code:
        hours, rest = divmod(seconds, 3600)
        minutes, left = divmod(rest, 60)
        whole = f"{int(hours):02}:{int(minutes):02}"
        return f"{whole}:{left:06.3f}".rstrip("0").rstrip(".") if left else whole
    # Day 60 is a 29 February 1900 that never was: no car ran before it.
    if number < 61 and not from_1904:
        raise ValueError(number)
    epoch = datetime(1904, 1, 1) if from_1904 else datetime(1899, 12, 30)
    when = epoch + timedelta(seconds=float(seconds))
    if "h" in code and seconds % 86_400:
        return when.isoformat(" ", "seconds")
    return when.date().isoformat()


def _format(code: str) -> str:
    """What a number format makes of a number: 'd', 'h', 'd h', '0%' or nothing of these."""
    plain = _NOT_CODE.sub("", code.split(";", maxsplit=1)[0]).lower()
    if "%" in plain:
        return "0%"
    hours = any(sign in plain for sign in "hs")
    days = any(sign in plain for sign in "yd") or ("m" in plain and not hours)
    if "general" in plain or plain.strip() == "@":
        return ""
    return " ".join(sign for sign, there in (("d", days), ("h", hours)) if there)


def _number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


def _in_workbook(target: str) -> str:
    return target[1:] if target.startswith("/") else str(PurePosixPath("xl") / target)


def _nothing(*_: Any) -> None:
    """For what is passed over."""


def _parse(
    parts: zipfile.ZipFile,
    name: str,
    start: Callable[[str, dict[str, str]], Any],
    end: Callable[[str], Any] = _nothing,
    text: Callable[[str], Any] = _nothing,
) -> None:
    """Runs a part through the parser in pieces; tags and attributes come without namespaces."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True

    def refuse(*_: Any) -> None:
        raise TableRefused("This workbook declares entities, which no table needs. " + UNREADABLE)

    def started(tag: str, given: dict[str, str]) -> None:
        start(_local(tag), {_local(key): value for key, value in given.items()})

    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = started
    parser.EndElementHandler = lambda tag: end(_local(tag))
    parser.CharacterDataHandler = text
    with parts.open(name) as part:
        while piece := part.read(CHUNK):
            parser.Parse(piece, False)
    parser.Parse(b"", True)


def _local(name: str) -> str:
    return name.rpartition(" ")[2]
