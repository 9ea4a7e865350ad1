"""What a page asks the database, and what each statement costs there with row security and without.

EXPLAIN ANALYZE of the very statements, once as the restricted role with the viewer set and once as
the tables' owner, whose policy is a constant true.
"""

import json
import sys
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any
from uuid import UUID

from django.db import connections, transaction

from clubsetup.access.viewer import viewing_as
from tests.migrated import APPS, HOUSE

MOST_THROWN_AWAY = 20  # rows, for each one returned
# Without the first a table is read whole only where no index serves; without all of them rows are
# found one by one, so that a small table is not read whole because it is small.
NO_SCANS = ("seqscan",)
ONE_BY_ONE = (*NO_SCANS, "hashjoin", "mergejoin", "memoize", "material")
SEARCHES_OF_A_FUNCTION = 2
OURS = tuple(f"{HOUSE / app}/" for app in APPS)
# A page of a list is asked for by whoever has the list.
FOR_OTHERS = str(HOUSE / "clubsetup/site/list_pages.py")
LARGE = {"cars_reading", "cars_sheet", "events_finding", "access_trailline"}
REMOVED = ("Rows Removed by Filter", "Rows Removed by Join Filter", "Rows Removed by Index Recheck")


@dataclass(frozen=True)
class Statement:
    """One as it was sent."""

    sql: str
    values: Any
    asked_in: str = ""  # the module and function of ours that sent it


@dataclass(frozen=True)
class Cost:
    """What one took, in ms and in pages of the database, and the rows read and thrown away."""

    ms: float
    pages: int
    removed: int
    returned: int
    searches: int  # of indices; of those inside a function two are taken to be
    is_function: bool  # all is done in a function of the database, and the plan tells nothing of it
    tables_scanned: frozenset[str]
    plan: str

    @property
    def is_wasteful(self) -> bool:
        """Many rows thrown away for each one returned, or a large table read from end to end."""
        much = self.removed > MOST_THROWN_AWAY * max(self.returned, 1)
        return much or bool(self.tables_scanned & LARGE)


def statements_of(call: Callable[[], object]) -> list[Statement]:
    """What a call reads, in order."""
    found = []

    def keep(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if not many and sql.startswith(("SELECT", "WITH")) and "set_config" not in sql:
            found.append(Statement(sql, params, _asked_in()))
        return execute(sql, params, many, context)

    with connections["default"].execute_wrapper(keep):
        call()
    return found


def _asked_in() -> str:
    """The innermost function of the service's own that is being run."""
    frame: FrameType | None = sys._getframe()
    while frame is not None:
        name = frame.f_code.co_filename
        if name.startswith(OURS) and name != FOR_OTHERS:
            return f"{Path(name).relative_to(HOUSE)} {frame.f_code.co_name}"
        frame = frame.f_back
    return ""


def cost_with_policies(statement: Statement, viewer: UUID, *, off: Collection[str] = ()) -> Cost:
    """As the restricted role for this viewer, with so many ways of the planner's `off`."""
    with viewing_as(viewer), _undone("default"):
        return _explain("default", statement, off)


def cost_without(statement: Statement) -> Cost:
    """As the owner."""
    with transaction.atomic("owner"):
        return _explain("owner", statement)


@contextmanager
def _undone(alias: str) -> Iterator[None]:
    point = transaction.savepoint(alias)
    yield
    transaction.savepoint_rollback(point, alias)


def _explain(alias: str, statement: Statement, off: Collection[str] = ()) -> Cost:
    with connections[alias].cursor() as cursor:
        for way in off:
            cursor.execute("SELECT set_config(%s, 'off', true)", [f"enable_{way}"])
        asked = f"EXPLAIN (ANALYZE, BUFFERS, TIMING OFF, FORMAT JSON) {statement.sql}"
        cursor.execute(asked, statement.values)
        answer = cursor.fetchone()[0]
    (found,) = answer if isinstance(answer, list) else json.loads(answer)
    nodes = list(_nodes(found["Plan"]))
    scanned = {node["Relation Name"] for node in nodes if node["Node Type"] == "Seq Scan"}
    return Cost(
        ms=found["Planning Time"] + found["Execution Time"],
        pages=found["Plan"]["Shared Hit Blocks"] + found["Plan"]["Shared Read Blocks"],
        removed=round(sum(_removed(node) for node in nodes)),
        returned=found["Plan"]["Actual Rows"],
        searches=sum(map(_searches, nodes)),
        is_function=not any("Relation Name" in node for node in nodes),
        tables_scanned=frozenset(scanned),
        plan="\n".join(_lines(found["Plan"])),
    )


def _nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield plan
    for below in plan.get("Plans", ()):
        yield from _nodes(below)


def _lines(plan: dict[str, Any], depth: int = 0) -> Iterator[str]:
    """A step a line, with what it reads, how often, and what it throws away."""
    words = [plan[name] for name in ("Node Type", "Relation Name", "Index Name") if name in plan]
    told = f"{plan['Actual Rows']:.0f} rows, {plan['Actual Loops']} times"
    if removed := _removed(plan):
        told += f", {removed:.0f} thrown away by {plan.get('Filter') or plan.get('Join Filter')}"
    yield f"{'  ' * depth}{' '.join(words)}: {told}"
    for below in plan.get("Plans", ()):
        yield from _lines(below, depth + 1)


def _searches(node: dict[str, Any]) -> int:
    """Of a step; a policy's function is asked once a statement, before it."""
    if node.get("Parent Relationship") == "InitPlan":
        return SEARCHES_OF_A_FUNCTION if node["Actual Loops"] else 0
    return int(node.get("Index Searches", 0))


def _removed(node: dict[str, Any]) -> float:
    """PostgreSQL says how many for each time that the node was run."""
    each = sum(float(node.get(name, 0)) for name in REMOVED)
    return each * float(node["Actual Loops"])
