"""CSV as spreadsheets, timing and people write it: its encoding and separator are found, not asked.

What can be read in two ways is refused: a file of two encodings, a quote that nobody closes.
"""

import csv
import io
from collections import Counter
from itertools import islice

from cars.exchange.files.import_table import Flaw, Table, TableRefused, too_long

UTF_16 = (b"\xff\xfe", b"\xfe\xff")
SEPARATORS = ";\t,|"  # where two part a file as evenly, the earlier one
TRIED = 50  # lines that the separator is found by
WESTERN = "cp1252"  # what spreadsheets of the last thirty years write without saying so
FORMULA = ("=", "@")
SAVE_AS = "Save it as 'CSV UTF-8' and send that."


def read_csv(content: bytes) -> Table:
    """The table. Raises TableRefused."""
    table = Table()
    text = _decoded(content, table)
    separator = _separator(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = 0
    try:
        for number, row in enumerate(reader, 1):
            cells = [cell.strip() for cell in row]
            table.add(number, cells)
            for column, cell in enumerate(cells):
                if cell.startswith(FORMULA):
                    table.flaws.append(
                        Flaw(number, column, "A formula. Write the value that it comes to.")
                    )
    except csv.Error as error:
        if "larger than field limit" in str(error):
            raise TableRefused(too_long(number + 1)) from error
        raise TableRefused(
            f"After row {number} a quotation mark is not closed, or text follows one. Inches are "
            "written without quotation marks around the cell, or with the mark doubled inside."
        ) from error
    return table


def _decoded(content: bytes, table: Table) -> str:
    if content[:2] in UTF_16:
        try:
            return content.decode("utf-16")
        except UnicodeDecodeError as error:
            raise TableRefused(f"This file breaks off in the middle. {SAVE_AS}") from error
    if b"\x00" in content:
        raise TableRefused(f"This is not a text file. {SAVE_AS}")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        _refuse_two_encodings(content)
    try:
        text = content.decode(WESTERN)
    except UnicodeDecodeError as error:
        raise TableRefused(f"The letters of this file are in no encoding known. {SAVE_AS}") from (
            error
        )
    table.notes.append("Read as Windows text (1252). Look whether accents and signs are right.")
    return text


def _refuse_two_encodings(content: bytes) -> None:
    """A file put together of two: what is right in one encoding is garbled in the other."""
    as_utf_8, otherwise = 0, 0
    for number, line in enumerate(content.split(b"\n"), 1):
        if line.isascii():
            continue
        try:
            line.decode("utf-8")
            as_utf_8 = as_utf_8 or number
        except UnicodeDecodeError:
            otherwise = otherwise or number
    if as_utf_8:
        raise TableRefused(
            f"This file is in two encodings: line {as_utf_8} is UTF-8, line {otherwise} is not. "
            f"It was put together of two files. {SAVE_AS}"
        )


def _separator(text: str) -> str:
    """What parts the most lines into as many cells, and more than one."""
    lines = list(islice(io.StringIO(text, newline=""), TRIED))
    best, most = ",", 0
    for separator in SEPARATORS:
        try:
            widths = [len(row) for row in csv.reader(lines, delimiter=separator) if row]
        except csv.Error:
            continue
        even = Counter(width for width in widths if width > 1).most_common(1)
        # A decimal comma parts some cells of a line; the separator of the file parts every line.
        if even and even[0][1] > most:
            best, most = separator, even[0][1]
    return best
