"""How everything is written: one action, one transaction, one line in the trail.

An action is a keyword-only function with `by=`, the person doing it. It checks that they may
(`check_can_...`), then that the thing is in a state in which it can be done, writes, and leaves its
line in the trail in the same transaction: if the trail cannot be written, nothing is.
"""

import functools
import inspect
from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar
from uuid import UUID

from django.db import models, transaction

from clubsetup.access.models import TrailLine, User

P = ParamSpec("P")
R = TypeVar("R")


def action(function: Callable[P, R]) -> Callable[P, R]:
    """Marks and wraps an action: atomic, keyword-only, with `by`."""
    parameters = inspect.signature(function).parameters
    if "by" not in parameters or any(p.kind is not p.KEYWORD_ONLY for p in parameters.values()):
        raise TypeError(f"{function.__qualname__}: an action takes keywords only, and `by`")

    @functools.wraps(function)
    def atomic(*args: P.args, **kwargs: P.kwargs) -> R:
        with transaction.atomic():
            return function(*args, **kwargs)

    atomic.is_action = True  # type: ignore[attr-defined]
    return atomic


def record(
    *,
    by: User,
    did: str,
    on: models.Model,
    club_id: UUID | None = None,
    team_id: UUID | None = None,
    **detail: Any,
) -> None:
    """Writes the line of what was just done; `did` is a past participle: 'closed'."""
    TrailLine(
        by=by,
        did=did,
        on_kind=on._meta.label_lower,
        on_id=on.pk,
        club_id=club_id,
        team_id=team_id,
        detail=detail,
    ).save(force_insert=True)
