"""An event's records as a table to read: one row a record, one column a figure.

It is written from the lines of the chain and holds no hash: the JSON file is the one to verify. A
row says where its record stands in it. The names in a line are those of formats 1 to 3. What was
written in words is read from beside the line; nothing stands there once it was erased.
"""

import csv
import io
from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from events.models import Finding, WeighIn
from events.models.tech import RESOLUTION
from events.records.files.chain_file import FIRST_OF_TABLE, photo_name
from events.records.queries.records import Records
from events.rules.chain import ChainLink

Record = Mapping[str, Any]
PADS = ("LF", "RF", "LR", "RR")
KINDS = {
    "weigh_in": "Weigh-in",
    "ballast_check": "Ballast check",
    "ballast_photo": "Photo of ballast",
    "tech_reading": "Length measured",
    "finding": "Finding",
    "void": "Void",
    "draw": "Draw",
    "scale_check": "Check of the scales",
}
# What takes a record out of force names it under its kind.
VOIDED = ("weigh_in", "ballast_check", "tech_reading")
FORMULA = "=+-@\uff1d\uff0b\uff0d\uff20"  # and the full-width ones
BYTE_ORDER_MARK = "\ufeff"  # a spreadsheet then reads UTF-8


class TableFigure(str):
    """A number as written, which a spreadsheet may take for one."""

    __slots__ = ()


def as_table(records: Records, units: Units, zone: ZoneInfo) -> str:
    """The table, in the reader's units and by the club's clock."""
    table, out = _Table(records, units, zone), io.StringIO()
    out.write(BYTE_ORDER_MARK)
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([*FIRST_OF_TABLE, *table.headings])
    for link in records.links:
        cells = table.row(link)
        writer.writerow([_harmless(cells.get(h, "")) for h in (*FIRST_OF_TABLE, *table.headings)])
    return out.getvalue()


class _Table:
    """Writes one record after the other under the same headings."""

    def __init__(self, records: Records, units: Units, zone: ZoneInfo) -> None:
        self.records, self.units, self.zone = records, units, zone
        self.lb, self.inch = units.mass, units.length
        self.where = {str(link.record.get("id")): link.number for link in records.links}
        voids = (link for link in records.links if link.record["kind"] == "void")
        self.voids = {_voided(link.record): link.number for link in voids}
        batches: dict[str, str] = {}
        for link in records.links:
            if link.record["kind"] == "finding":
                entry, batch = link.record["entry"], link.record["batch"]
                batches[entry] = max(batch, batches.get(entry, ""))
        self.newest = set(batches.values())

    @property
    def headings(self) -> list[str]:
        """Behind the first ones: weights and outcomes, then what they are of."""
        masses = [f"{name} ({self.lb})" for name in PADS]
        return [
            *(f"Total ({self.lb})", "Outcome", "No longer stands", "Rule", "In words"),
            *("Stage", "Driver in", "Tank empty", "Weighed again unchanged", *masses),
            *(f"Standard uncertainty of the total ({self.lb})", f"Correction ({self.lb})"),
            *("Correction counted", "Fuel", "Scales", f"Division ({self.lb})", "Pads level"),
            *(f"Largest error ({self.lb})", "Ballast on the car", "Label", "Label legible"),
            *(f"Marked ({self.lb})", f"Piece weighed ({self.lb})", "Place", "Fixed", "Photo"),
            *("Measure", "Where on the car", f"Length ({self.inch})", "Reason", "Takes out line"),
            *("Seed", "Drawn", "Drawn among", "As typed", "Note"),
            *(f"Saved ({self.zone.key})", f"On the device ({self.zone.key})", "By", "Line"),
        ]

    def row(self, link: ChainLink) -> dict[str, str]:
        """The cells of a record by their headings."""
        record, names = link.readable, self.records.shown(link)
        own = getattr(self, f"_{record['kind']}", None)
        return {
            "Number": names["number"],
            "Name": names["name"],
            "Class": names["class"],
            "Record": KINDS.get(record["kind"], str(record["kind"])),
            "No longer stands": self._gone(record),
            "As typed": _typed(record.get("typed")),
            f"Saved ({self.zone.key})": self._time(record.get("created_at")),
            f"On the device ({self.zone.key})": self._time(record.get("device_at")),
            "By": names["by"],
            "Line": TableFigure(link.number or ""),
            **(own(record) if own else {}),
        }

    def _weigh_in(self, record: Record) -> dict[str, str]:
        corrections = [Decimal(one) for one in record.get("corrections", {}).values()]
        correction = sum(corrections, Decimal(0)) if corrections else None
        pads = {f"{spot} ({self.lb})": self._mass(record.get(spot.lower())) for spot in PADS}
        return {
            **pads,
            f"Total ({self.lb})": self._mass(record["total"]),
            "Stage": WeighIn.Stage(record["stage"]).label,
            "Driver in": _yes(record, "driver_in"),
            "Tank empty": _yes(record, "tank_empty"),
            "Weighed again unchanged": _yes(record, "again"),
            f"Standard uncertainty of the total ({self.lb})": self._small(record["u_total"]),
            f"Correction ({self.lb})": self._small(correction),
            "Correction counted": _yes(record, "corrected"),
            "Fuel": record.get("fuel_note", ""),
            "Scales": self._named(record["scale_set"]),
        }

    def _finding(self, record: Record) -> dict[str, str]:
        outcome = Finding.Outcome(record["outcome"]).label
        return {"Outcome": outcome, "Rule": record["rule_words"], "In words": record["sentence"]}

    def _scale_check(self, record: Record) -> dict[str, str]:
        errors = [Decimal(one["error"]) for one in record.get("loads", [])]
        return {
            "Outcome": "Passed" if record.get("passed") else "Failed",
            "Scales": self._named(record["scale_set"]),
            f"Division ({self.lb})": self._small(record["division"]),
            "Pads level": _yes(record, "pads_level"),
            f"Largest error ({self.lb})": self._small(max(errors, key=abs, default=None)),
            "Note": record.get("level_note", ""),
        }

    def _ballast_check(self, record: Record) -> dict[str, str]:
        if record.get("none_on_car"):
            return {"Ballast on the car": "none"}
        return {
            "Ballast on the car": "a piece",
            "Label": record.get("label", ""),
            "Label legible": _yes(record, "label_legible"),
            f"Marked ({self.lb})": self._mass(record.get("marked_mass")),
            f"Piece weighed ({self.lb})": self._mass(record.get("weighed_mass")),
            "Place": record.get("place", ""),
            "Fixed": _yes(record, "fixed"),
        }

    def _ballast_photo(self, record: Record) -> dict[str, str]:
        return {"Photo": photo_name(record["id"])}

    def _tech_reading(self, record: Record) -> dict[str, str]:
        return {
            "Measure": self._named(record["measure"]),
            "Where on the car": record["spot"],
            f"Length ({self.inch})": self._show(record["value"], Kind.LENGTH, self.inch),
        }

    def _void(self, record: Record) -> dict[str, str]:
        line = self.where.get(_voided(record))
        return {"Reason": record["reason"], "Takes out line": TableFigure(line or "")}

    def _draw(self, record: Record) -> dict[str, str]:
        return {
            "Seed": record["seed"],
            "Reason": record["purpose"],
            "Drawn": ", ".join(record["drawn"]),
            "Drawn among": ", ".join(record["candidates"]),
        }

    def _gone(self, record: Record) -> str:
        if line := self.voids.get(str(record.get("id"))):
            return f"void, line {line}"
        if record["kind"] == "finding" and record["batch"] not in self.newest:
            return "a later finding took its place"
        return ""

    def _named(self, key: object) -> str:
        return self.records.things.get(str(key), str(key))

    def _mass(self, kilograms: str | None) -> str:
        return "" if kilograms is None else self._show(kilograms, Kind.MASS, self.lb)

    def _small(self, kilograms: Decimal | str | None) -> str:
        """An error or an uncertainty, to a thousandth."""
        if kilograms is None:
            return ""
        return TableFigure(show(Decimal(kilograms), Kind.MASS, unit=self.lb, places=3).bare)

    def _show(self, value: str, kind: Kind, unit: str) -> str:
        return TableFigure(show(Decimal(value), kind, unit=unit, style="decimal").bare)

    def _time(self, when: str | None) -> str:
        if when is None:
            return ""
        local = datetime.fromisoformat(when).astimezone(self.zone)
        return local.replace(tzinfo=None).isoformat(" ", "seconds")


def _yes(record: Record, name: str) -> str:
    """A line leaves out what is 'no'."""
    return "yes" if record.get(name) else "no"


def _voided(void: Record) -> str:
    """The id of what it takes out of force."""
    return next((str(void[kind]) for kind in VOIDED if kind in void), "")


def _typed(typed: Any) -> str:
    if isinstance(typed, Mapping):
        order = [
            *(pad for pad in PADS if pad in typed),
            *(n for n in typed if n not in (*PADS, RESOLUTION)),
        ]
        return "; ".join(f"{name} {typed[name]}" for name in order if typed[name])
    return str(typed or "")


def _harmless(text: str) -> str:
    """Text that a spreadsheet would take for a formula, with the mark that makes it text."""
    if isinstance(text, TableFigure) or not text:
        return text
    first = text.lstrip()[:1] or " "
    return f"'{text}" if first in FORMULA or text[0] in "\t\r\n" else text
