"""Officials who save at once, each on a connection of their own, one step at a time.

A saver stops where it has stored its record and entered nothing yet, and again before its
transaction ends; whoever drives them decides who goes on.
"""

import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connection, connections
from pytest_django.plugin import DjangoDbBlocker

from events.actions import weighing
from events.actions.findings import find_again
from tests.events.meeting import Meeting, make_meeting
from tests.standing_people import committed_people

SECONDS = 30


class Saver(threading.Thread):
    """Saves in a thread; `doing` runs inside the transaction that it opens itself."""

    def __init__(self, doing: Callable[["Saver"], object]) -> None:
        super().__init__(daemon=True)
        self.doing, self.pid = doing, 0
        self.may_go, self.has_stopped = threading.Semaphore(0), threading.Semaphore(0)
        self.over, self.going = False, False
        self.problem: Exception | None = None

    def run(self) -> None:
        """Waits for the first step."""
        self.may_go.acquire(timeout=SECONDS)
        try:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_backend_pid()")
                self.pid = (cursor.fetchone() or [0])[0]
            self.doing(self)
        except Exception as problem:
            self.problem = problem
        finally:
            connections.close_all()
            self.over = True
            self.has_stopped.release()

    def stop_here(self) -> None:
        """Called by what it does."""
        self.has_stopped.release()
        assert self.may_go.acquire(timeout=SECONDS)

    def step(self) -> None:
        """Lets it go on to its next stop, or to where it waits for another one's lock."""
        if self.over or (self.going and not self._stopped()):
            return
        self.going = True
        self.may_go.release()
        self._stopped()

    def _stopped(self) -> bool:
        """Waits until it stops; False where it cannot before somebody else goes on."""
        while not self.has_stopped.acquire(timeout=0.002):
            if self._waits():
                return False
        self.going = False
        return True

    def _waits(self) -> bool:
        with connection.cursor() as cursor:
            cursor.execute("SELECT cardinality(pg_blocking_pids(%s)) > 0", [self.pid])
            row = cursor.fetchone()
        return bool(row and row[0])


def finish(savers: list[Saver]) -> None:
    """Lets them all end."""
    for _ in range(20):
        for saver in savers:
            saver.step()
        if all(saver.over for saver in savers):
            break
    for saver in savers:
        saver.join(SECONDS)
        if saver.problem:
            raise saver.problem
        assert saver.over


@pytest.fixture
def committed(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Meeting]:
    """A meeting that other connections see; a saver that weighs stops once the weigh-in is stored
    and the findings are made. Emptied by the owner."""
    finds = find_again

    def stops(**given: Any) -> Any:
        found = finds(**given)
        saver = threading.current_thread()
        if isinstance(saver, Saver):
            saver.stop_here()
        return found

    monkeypatch.setattr(weighing, "find_again", stops)
    with django_db_blocker.unblock(), committed_people() as people:
        yield make_meeting(people)
