"""The catalogue of steps and measures: read from fixtures/catalogue.json, kept in two tables.

The app's role may only read those tables, so the rows are written on the owner's connection,
after each migration.
"""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.db import models, transaction

from cars.models import ClosedFigures, Measure, Step
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse

FILE = Path(__file__).resolve().parent.parent.parent / "fixtures" / "catalogue.json"
# Orders of rows about to be rewritten, out of the way of the new ones.
ASIDE = 10_000


def read_catalogue(path: Path = FILE) -> tuple[list[Step], list[Measure]]:
    """The steps and measures of the file, unsaved. Raises for a figure that cannot be read."""
    steps, measures = [], []
    for place, step in enumerate(json.loads(path.read_text())["steps"], start=1):
        steps.append(
            Step(
                slug=step["slug"],
                order=place,
                name=step["name"],
                why_here=step["why_here"],
                caution=step["caution"],
                makes_stale=step["makes_stale"],
            )
        )
        measures += [
            _measure(step["slug"], order, row) for order, row in enumerate(step["measures"], 1)
        ]
    return steps, measures


def _measure(step: str, order: int, row: dict[str, Any]) -> Measure:
    kind = row.get("kind", "")

    def figure(name: str) -> Decimal | None:
        return parse(row[name], Kind(kind)).value if name in row else None

    return Measure(
        slug=row["slug"],
        step_id=step,
        order=order,
        name=row["name"],
        taken=row["taken"],
        kind=kind,
        spots=row["spots"],
        where=row["where"],
        low=figure("low"),
        high=figure("high"),
        tool_resolution=figure("resolution"),
        more_less=[row["more"], row["less"]] if "more" in row else [],
    )


def sync_catalogue(using: str = "owner") -> bool:
    """Makes the tables say what the file says; True if anything was written.

    A step or measure that left the file keeps its row, at the end, because readings refer to it.
    """
    steps, measures = read_catalogue()
    with transaction.atomic(using=using):
        changed = _sync(Step, steps, using)
        changed = _sync(Measure, measures, using) or changed
        if changed:  # something else may be stale by now; what is missing is computed
            ClosedFigures.objects.using(using).all().delete()
        return changed


def _sync(model: type[models.Model], rows: list[Any], using: str) -> bool:
    names = [field.attname for field in model._meta.concrete_fields]
    manager = model._default_manager.using(using)
    stored = {row["slug"]: row for row in manager.values(*names)}
    wanted = [{name: getattr(row, name) for name in names} for row in rows]
    if all(stored.get(row["slug"]) == row for row in wanted):
        return False
    manager.filter(order__lt=ASIDE).update(order=models.F("order") + ASIDE)
    manager.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["slug"],
        update_fields=[name for name in names if name != "slug"],
    )
    return True
