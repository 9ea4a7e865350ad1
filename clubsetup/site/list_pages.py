"""Lists page by page: a page begins after the last row of the one before it, never at a number.

Rows that come meanwhile shift nothing, and no page takes longer than the first.
"""

from collections.abc import Mapping
from typing import Any, TypeVar
from uuid import UUID

from django.db import models
from django.db.models import F, OrderBy, Q
from django.db.models.expressions import Combinable

from clubsetup.access.errors import NoSuchPage

M = TypeVar("M", bound=models.Model)
BEFORE = "before"


def before_of(asked: Mapping[str, str], name: str = BEFORE) -> UUID | None:
    """The row after which an address asks for a page of a list. Raises NoSuchPage.

    Of several lists on a page each has a name of its own.
    """
    given = asked.get(name)
    try:
        return UUID(given) if given else None
    except ValueError as error:
        raise NoSuchPage(name) from error


def page_of(
    rows: models.QuerySet[M], size: int, before: UUID | None = None, name: str = BEFORE
) -> tuple[list[M], Any]:
    """So many rows after the row `before`, in their order, and what the next page is asked with, if
    there is one. Raises NoSuchPage where the list has no such row."""
    rows = _in_one_order(rows)
    if before is not None:
        rows = _after(rows, before, name)
    page_and_next = list(rows[: size + 1])
    page = page_and_next[:size]
    return page, page[-1].pk if len(page_and_next) > size else None


def _in_one_order(rows: models.QuerySet[M]) -> models.QuerySet[M]:
    """The id tells apart what is equal in all else."""
    order = _order(rows)
    if order and order[-1] in ("pk", "-pk", "id", "-id"):
        return rows
    last = "-pk" if order and _is_descending(order[-1]) else "pk"
    return rows.order_by(*order, last)


def _order(rows: models.QuerySet[M]) -> tuple[Any, ...]:
    return tuple(rows.query.order_by or rows.model._meta.ordering or ())


def _is_descending(key: Any) -> bool:
    return key.startswith("-") if isinstance(key, str) else getattr(key, "descending", False)


def _expression(key: Any) -> Combinable:
    if isinstance(key, str):
        return F(key.removeprefix("-"))
    found: Combinable = key.expression if isinstance(key, OrderBy) else key
    return found


def _after(rows: models.QuerySet[M], before: UUID, name: str) -> models.QuerySet[M]:
    order = _order(rows)
    if order in (("-pk",), ("-id",)):  # which needs no row to stand there
        return rows.filter(pk__lt=before)
    keys = {f"order_{place}": _expression(key) for place, key in enumerate(order)}
    at = rows.filter(pk=before).order_by().annotate(**keys).values_list(*keys)
    values = next(iter(at), None)
    if values is None:
        raise NoSuchPage(name)
    falling = map(_is_descending, order)
    follows = _follows(list(zip(keys, values, falling, strict=True)))
    found: models.QuerySet[M] = rows.alias(**keys).filter(follows)
    return found


def _follows(keys: list[tuple[str, Any, bool]]) -> Q:
    """After these values: by the first key, or where that is the same by the others.

    PostgreSQL puts what is not known last where values rise, and first where they fall.
    """
    (key, value, falls), *others = keys
    if value is None:
        same = Q(**{f"{key}__isnull": True})
        further = Q(**{f"{key}__isnull": False}) if falls else None
    else:
        same = Q(**{key: value})
        further = Q(**{f"{key}__lt": value}) if falls else _above(key, value)
    if not others:
        return further if further is not None else Q(pk__in=[])
    tied = same & _follows(others)
    found = tied if further is None else further | tied
    # It says again what the rest says already: this half alone is what an index goes by.
    return Q(**{f"{key}__lte": value}) & found if falls and value is not None else found


def _above(key: str, value: Any) -> Q:
    return Q(**{f"{key}__gt": value}) | Q(**{f"{key}__isnull": True})
