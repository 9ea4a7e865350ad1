"""The schema of `team.json` (JSON Schema, 2020-12), made from the kinds of rows and their columns.

It is published as the file beside this module, and a test holds the two to each other, so that a
model that changes shows what changes for whoever reads an archive.
"""

import json
from pathlib import Path
from typing import Any

from django.contrib.postgres.fields import ArrayField
from django.db import models

from cars.exchange.files.archive_json import FORMAT, VERSION
from cars.exchange.queries.archive_kinds import ArchiveKind, Section, archive_kinds

PATH = Path(__file__).with_name(f"team_archive_{VERSION}.schema.json")
DIALECT = "https://json-schema.org/draft/2020-12/schema"

_UUID = {
    "type": "string",
    "format": "uuid",
    "pattern": "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$",
}
_TEXT = {"type": "string"}
_DECIMAL = {"type": "string", "pattern": r"^-?\d{1,20}(\.\d{1,10})?$"}
_TYPES: tuple[tuple[type[Any], dict[str, Any]], ...] = (
    (models.UUIDField, _UUID),
    (models.DecimalField, _DECIMAL),
    (models.BooleanField, {"type": "boolean"}),
    (models.DateTimeField, {"type": "string", "format": "date-time"}),
    (models.DateField, {"type": "string", "format": "date"}),
    (models.IntegerField, {"type": "integer"}),
    (models.FloatField, {"type": "number"}),
    (models.JSONField, {}),
    (models.CharField, _TEXT),
    (models.TextField, _TEXT),
)


def published_schema() -> str:
    """The published file's text."""
    return PATH.read_text()


def schema_text() -> str:
    """As the models have it now."""
    return json.dumps(make_schema(), indent=1, ensure_ascii=False) + "\n"


def make_schema() -> dict[str, Any]:
    """The whole schema."""
    named = {"id": _UUID, "name": _TEXT}
    club = {**named, "short_name": _TEXT, "time_zone": _TEXT}
    measures = {"type": "object", "additionalProperties": _object({"name": _TEXT, "unit": _TEXT})}
    return {
        "$schema": DIALECT,
        "$id": f"urn:clubsetup:team-archive:{VERSION}",
        "title": "Everything a team owns",
        "description": (
            "Exact decimals are text. Quantities are in mm, kg, deg, kPa, N/mm, degC, L; of "
            "readings and targets the measure says the unit ('measures'). Times are in UTC."
        ),
        **_object(
            {
                "format": {"const": FORMAT},
                "version": {"const": VERSION},
                "made_at": {"type": "string", "format": "date-time"},
                "made_by": _object(named),
                "seen_as": {
                    "enum": ["crew", "coach"],
                    "description": "A coach's archive holds what the team lets the coach see.",
                },
                "team": _object(named),
                "club": _object(club),
                "measures": measures,
                "rows": _object({section: _section(section) for section in Section}),
            }
        ),
    }


_SECTIONS = {
    Section.TEAM: "The team's own rows.",
    Section.CLUB: "What is the club's and the team's rows point at.",
    Section.RECORD: "What officials wrote of the team's cars: to read, never a record elsewhere.",
}


def _section(section: Section) -> dict[str, Any]:
    lists = {kind.name: {"type": "array", "items": _row(kind)} for kind in archive_kinds(section)}
    return {"description": _SECTIONS[section], **_object(lists)}


def _row(kind: ArchiveKind) -> dict[str, Any]:
    return _object({column.name: _column(kind, column) for column in kind.columns})


def _column(kind: ArchiveKind, column: "models.Field[Any, Any]") -> dict[str, Any]:
    described = _type(column)
    if column.null and "type" in described:
        described["type"] = [described["type"], "null"]
        if "enum" in described:
            described["enum"] = [*described["enum"], None]
    if unit := kind.unit_of(column):
        described["description"] = f"In {unit}."
    elif kind.is_of_measure(column):
        described["description"] = "In the unit of the measure."
    if isinstance(column, models.ForeignKey):
        described["description"] = f"Of {column.related_model._meta.verbose_name_plural}."
    return described


def _type(column: "models.Field[Any, Any]") -> dict[str, Any]:
    if isinstance(column, models.ForeignKey):
        return _type(column.target_field)
    if isinstance(column, ArrayField):
        return {"type": "array", "items": _type(column.base_field)}
    described = dict(next(given for of, given in _TYPES if isinstance(column, of)))
    if column.choices and described.get("type") == "string":
        words = [value for value, _ in column.flatchoices]
        described["enum"] = [*words, *([""] if column.blank else [])]
    elif isinstance(column, models.CharField) and column.max_length:
        described["maxLength"] = column.max_length
    return described


def _object(properties: dict[Any, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {str(name): given for name, given in properties.items()},
        "required": [str(name) for name in properties],
        "additionalProperties": False,
    }
