"""Two people at once, on two connections."""

import threading
import time
from collections.abc import Callable

from django.db import connection, connections

from clubsetup.access.errors import WrongState
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as


def wait_for_a_waiting_one() -> None:
    """Returns when another connection waits for a lock that this transaction holds."""
    with connection.cursor() as cursor:
        for _ in range(2000):
            cursor.execute(
                "SELECT count(*) FROM pg_locks WHERE NOT granted "
                "AND pg_backend_pid() = ANY (pg_blocking_pids(pid))"
            )
            row = cursor.fetchone()
            if row and row[0]:
                return
            time.sleep(0.005)
    raise AssertionError("the second one never waited for the first")


def at_once(first: User, second: User, doing: Callable[[User], object]) -> list[str]:
    """The first does it and commits only when the second waits; what each came to."""
    came_to: dict[str, str] = {}
    done = threading.Event()

    def follow() -> None:
        done.wait(20)
        try:
            with viewing_as(second.pk):
                doing(second)
            came_to["second"] = "done"
        except WrongState as refused:
            came_to["second"] = str(refused)
        finally:
            connections.close_all()

    follower = threading.Thread(target=follow)
    follower.start()
    with viewing_as(first.pk):
        doing(first)
        done.set()
        wait_for_a_waiting_one()
    follower.join(30)
    return ["done", came_to["second"]]
