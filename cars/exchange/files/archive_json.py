"""A team's archive as JSON, written row by row: it never stands in memory as a whole."""

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any, TextIO
from uuid import UUID

from cars.exchange.queries.archive_kinds import ArchiveKind, Section
from cars.exchange.queries.archive_rows import Values

FORMAT = "clubsetup-team-archive"
VERSION = 1
FILE = "team.json"


def plain(value: Any) -> Any:
    """A value as JSON has it: exact decimals as text, times in UTC."""
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    return value


class ArchiveJson:
    """Writes the head, then section by section and kind by kind, a row a line."""

    def __init__(self, out: TextIO, head: Mapping[str, Any]) -> None:
        """`head` says what the archive is of."""
        self._out = out
        self._between_sections = ""
        self._between_kinds = ""
        self._names: list[str] = []
        begun = _text({"format": FORMAT, "version": VERSION, **head})
        self._out.write(f'{begun.removesuffix("}")},\n"rows": {{\n')

    def begin_section(self, section: Section) -> None:
        """Before its kinds."""
        self._out.write(f'{self._between_sections}"{section}": {{\n')
        self._between_sections, self._between_kinds = ",\n", ""

    def add_kind(self, kind: ArchiveKind) -> None:
        """Before its rows."""
        self._names = [column.name for column in kind.columns]
        self._out.write(f'{self._between_kinds}"{kind.name}": [')
        self._between_kinds, self._between_rows = ",\n", "\n"

    def add(self, rows: Sequence[Values]) -> None:
        """Some of its rows."""
        for row in rows:
            named = dict(zip(self._names, map(plain, row), strict=True))
            self._out.write(self._between_rows + _text(named))
            self._between_rows = ",\n"

    def end_kind(self) -> None:
        """After its rows."""
        self._out.write("]")

    def end_section(self) -> None:
        """After its kinds."""
        self._out.write("\n}")

    def end(self) -> None:
        """After all."""
        self._out.write("\n}}\n")


def _text(given: Any) -> str:
    return json.dumps(given, ensure_ascii=False, allow_nan=False)
