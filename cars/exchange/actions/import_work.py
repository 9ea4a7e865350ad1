"""Bringing in what was confirmed, outside the request, under a lease as prints are made.

Taking it is one short transaction. All its rows are a second one, which holds the import's row, so
that a second worker passes by however long it takes; whoever dies on the way leaves a lease that
runs out and no rows, and it is sent again.
"""

import logging
from datetime import timedelta
from uuid import UUID, uuid4

from django.conf import settings
from django.db import connection
from django.db.models import Q
from django.utils import timezone

from cars.exchange.actions.imports import bring_in
from cars.models import Import
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as

logger = logging.getLogger(__name__)
GAVE_UP = "It could not be brought in. Confirm it again; nothing of it was kept."
LONGEST = 400


def work_on(pk: UUID) -> None:
    """Brings this import in, unless it is over, in other hands or gone."""
    asked_by = _confirmed_by(pk)
    if asked_by is None:
        return
    lease = _take(pk, asked_by)
    if lease is None:
        return
    try:
        with viewing_as(asked_by):
            if row := _ours(pk, lease):
                bring_in(by=User.objects.get(pk=asked_by), row=row)
    except (Invalid, NotAllowed, WrongState) as refused:
        _give_back(pk, asked_by, lease, str(refused))
    except Exception:
        logger.exception("import %s: this attempt failed", pk)
        _give_back(pk, asked_by, lease, "")


def _confirmed_by(pk: UUID) -> UUID | None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.import_confirmed_by(%s)", [pk])
        found: tuple[UUID | None] | None = cursor.fetchone()
    return found[0] if found else None


def _take(pk: UUID, asked_by: UUID) -> UUID | None:
    with viewing_as(asked_by):
        free = Q(state=Import.State.WAITING) | Q(
            state=Import.State.WORKING, leased_until__lt=timezone.now()
        )
        row = Import.objects.select_for_update(skip_locked=True).filter(free, pk=pk).first()
        if row is None:
            return None
        row.attempts += 1
        row.state, row.lease = Import.State.WORKING, uuid4()
        row.leased_until = timezone.now() + timedelta(seconds=settings.PRINT_LEASE_SECONDS)
        row.save(update_fields=["state", "lease", "leased_until", "attempts"])
        return row.lease


def _ours(pk: UUID, lease: UUID) -> Import | None:
    rows = Import.objects.select_for_update(of=("self",)).select_related("team__club")
    return rows.filter(pk=pk, lease=lease, state=Import.State.WORKING).first()


def _give_back(pk: UUID, asked_by: UUID, lease: UUID, problem: str) -> None:
    """A draft again where it was refused, with why; else to be tried again, some times."""
    with viewing_as(asked_by):
        row = _ours(pk, lease)
        if row is None:
            return
        if problem or row.attempts >= settings.PRINT_MOST_ATTEMPTS:
            row.state, row.problem = Import.State.DRAFT, (problem or GAVE_UP)[:LONGEST]
            if row.kind == Import.Kind.ARCHIVE:
                # Nothing in it is chosen anew: it is sent again.
                row.state, row.cells = Import.State.DROPPED, []
        else:
            row.state = Import.State.WAITING
        row.lease, row.leased_until = None, None
        row.save(update_fields=["state", "problem", "cells", "lease", "leased_until"])
