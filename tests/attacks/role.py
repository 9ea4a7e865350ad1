"""Raw SQL as the app's role, in the name of each of the cast; whatever it does is undone."""

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

import psycopg
from django.db import DatabaseError, connection

from clubsetup.access.viewer import set_viewer
from tests.figures import STATEMENTS, count
from tests.guards.world import undone

REFUSED = "permission denied"  # by a grant that is missing or by a policy
NOTHING = "no row"
DONE = "done"


@dataclass
class Attacker:
    """Counts what it tried, and keeps what it should not have been able to do."""

    statements: int = 0
    succeeded: list[str] = field(default_factory=list)

    def tried(self) -> None:
        """Counts a statement, here and among the figures of the run."""
        self.statements += 1
        count(STATEMENTS)

    def attempt(self, who: UUID | None, sql: str, *given: Any) -> str:
        """What comes of one statement: DONE (rows touched), NOTHING, REFUSED or an error's code."""
        with undone():
            set_viewer(who)
            return self.attempt_here(sql, *given)

    def attempt_here(self, sql: str, *given: Any) -> str:
        """As `attempt`, for whoever looks already."""
        self.tried()
        try:
            with undone(), connection.cursor() as cursor:
                cursor.execute(sql, given)
                touched = cursor.rowcount
                if cursor.description and cursor.rowcount == 1:
                    told = cursor.fetchone()
                    # An aggregate of nothing, or a function that says no.
                    touched = int(told not in ((0,), (None,), (False,), (0, 0), ()))
                cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        except DatabaseError as error:
            return outcome_of(error)
        return DONE if touched else NOTHING

    def all_must_be_refused(self, who: UUID | None, statements: list[str]) -> None:
        """Notes each that is not; whoever looks is set once."""
        with undone():
            set_viewer(who)
            for sql in statements:
                if (came := self.attempt_here(sql)) != REFUSED:
                    self.succeeded.append(f"{who}: {sql}: {came}")

    def must_fail(
        self, name: str, who: UUID | None, sql: str, *given: Any, as_: Any = None
    ) -> None:
        """Notes it where it succeeds, or where it fails in another way than it is to (`as_`)."""
        came = self.attempt(who, sql, *given)
        if came == DONE or (as_ and came != as_):
            self.succeeded.append(f"{name}: {came}")


def outcome_of(error: DatabaseError) -> str:
    """REFUSED, or the SQLSTATE: to whoever asks, two with one code are one answer."""
    cause = error.__cause__
    if isinstance(cause, psycopg.errors.InsufficientPrivilege):
        return REFUSED
    return str(getattr(cause, "sqlstate", None) or cause)
