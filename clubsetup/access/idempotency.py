"""Sending twice makes one: rows whose id was chosen by whoever sends them."""

import hashlib
import json
from collections.abc import Callable
from typing import Any, TypeVar
from uuid import UUID

import psycopg
from django.core.serializers.json import DjangoJSONEncoder
from django.db import IntegrityError, models, transaction

from clubsetup.access.errors import WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import IdempotencyKey, User

M = TypeVar("M", bound=models.Model)

TAKEN = "This id is taken. Make a new one."
DIFFERS = "This id was sent before with other content. Make a new id, or change the row it made."
GONE = "What this id made has been removed since. Make a new id."


def create_once(
    *,
    by: User,
    row_id: UUID | None,
    content: Any,
    make: Callable[[UUID], M],
    find: Callable[[UUID], M | None],
) -> tuple[M, bool]:
    """Makes a row, or finds the one that the same person made by sending the same before.

    `content` is everything that says what to make (the address it was sent to with it), `make`
    runs the action under the id, `find` looks up what it made. Returns the row and whether it was
    made now. Raises WrongState where the id is another row's (seen or not), was sent with other
    content, or is of a row removed since.
    """
    if row_id is None:
        return make(new_id()), True
    digest = _digest(content)
    if known := IdempotencyKey.objects.filter(pk=row_id).first():
        return _again(known, digest, find), False
    try:
        with transaction.atomic():
            # First, so that the same request sent twice at once waits here for the other one.
            IdempotencyKey(pk=row_id, by=by, digest=digest).save(force_insert=True)
            return make(row_id), True
    except IntegrityError as error:
        if not _is_taken_id(error):
            raise
    if known := IdempotencyKey.objects.filter(pk=row_id).first():
        return _again(known, digest, find), False
    raise WrongState(TAKEN)


def _again(known: IdempotencyKey, digest: str, find: Callable[[UUID], M | None]) -> M:
    if known.digest != digest:
        raise WrongState(DIFFERS)
    row = find(known.pk)
    if row is None:
        raise WrongState(GONE)
    return row


def _digest(content: Any) -> str:
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), cls=DjangoJSONEncoder)
    return hashlib.sha256(text.encode()).hexdigest()


def _is_taken_id(error: IntegrityError) -> bool:
    cause = error.__cause__
    return isinstance(cause, psycopg.errors.UniqueViolation) and (
        cause.diag.constraint_name or ""
    ).endswith("_pkey")
