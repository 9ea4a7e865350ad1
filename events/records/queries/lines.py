"""Which kinds of record enter an event's chain, and what the line of a new one says."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import BinaryField, Model

from events.models import (
    BallastCheck,
    BallastPhoto,
    Draw,
    Finding,
    RecordLine,
    ScaleCheck,
    TechReading,
    Void,
    WeighIn,
)

OF_ENTRIES: dict[str, type[Model]] = {
    "weigh_in": WeighIn,
    "ballast_check": BallastCheck,
    "ballast_photo": BallastPhoto,
    "tech_reading": TechReading,
    "finding": Finding,
    "void": Void,
}
KINDS: dict[str, type[Model]] = {**OF_ENTRIES, "draw": Draw, "scale_check": ScaleCheck}
# What is written in words, by the kinds that have any: access.words_of_kind says the same. A seed
# is no such word: whoever repeats a draw needs it.
WORDS: dict[str, tuple[str, ...]] = {
    "weigh_in": ("fuel_note",),
    "ballast_check": ("label", "place", "reason"),
    "finding": ("sentence",),
    "void": ("reason",),
    "draw": ("purpose",),
    "scale_check": ("level_note",),
}
KIND_OF = {model: kind for kind, model in KINDS.items()}
EMPTY: tuple[Any, ...] = (None, "", {}, [])


def contents_of(records: Sequence[Model]) -> list[dict[str, Any]]:
    """What the lines of these records say, in order: read back as the database keeps them, since
    it rounds; a query for each kind. The database refuses a line that says anything else."""
    rows = _stored(records)
    return [_content(KIND_OF[type(one)], rows[one.pk]) for one in records]


def not_entered(event_id: UUID, records: Iterable[Model]) -> list[ScaleCheck]:
    """The scale checks that these records rest on and that are not in the event's chain yet."""
    rested_on = (one.scale_check_id for one in records if isinstance(one, WeighIn))
    checks = {check for check in rested_on if check is not None}
    if not checks:
        return []
    there = RecordLine.objects.filter(chain__event=event_id, record_id__in=checks)
    missing = ScaleCheck.objects.filter(pk__in=checks).exclude(pk__in=there.values("record_id"))
    return list(missing.order_by("created_at", "pk"))


def _stored(records: Iterable[Model]) -> Mapping[Any, Model]:
    ids: dict[type[Model], list[Any]] = defaultdict(list)
    for one in records:
        ids[type(one)].append(one.pk)
    rows = {}
    for model, keys in ids.items():
        pictures = [f.name for f in model._meta.concrete_fields if isinstance(f, BinaryField)]
        for row in model._default_manager.filter(pk__in=keys).defer(*pictures):
            rows[row.pk] = row
    return rows


def _content(kind: str, row: Model) -> dict[str, Any]:
    """Everything the row holds, as JSON writes it, ids in place of what they name. What is empty
    or 'no' is left out. Of a picture the line holds the hash."""
    fields = [f for f in row._meta.concrete_fields if not isinstance(f, BinaryField)]
    held = {field.name: getattr(row, field.attname) for field in fields}
    return {
        "kind": kind,
        **{name: _plain(v) for name, v in held.items() if v is not False and v not in EMPTY},
    }


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, UUID):
        return str(value)
    return value
