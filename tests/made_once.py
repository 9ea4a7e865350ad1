"""What a fixture makes by the actions, made by them once and put back for every other test.

The actions check, write, read again and note in the trail: a tenth of a second for a garage, and a
thousand tests want one. So they are run once, in a transaction that is undone; what they wrote is
kept, and put back in one statement, as rows that held every check when they were made. The objects
come as copies, so that what a test does to them no other test sees.
"""

from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import fields, is_dataclass
from typing import Any, Generic, TypeVar

from django.db import transaction

from tests.rows import Rows
from tests.standing_people import standing_people

T = TypeVar("T")


class MadeOnce(Generic[T]):
    """What `make` makes of the people, and of what stands `on` them already.

    It is made where it is first asked for, before any test's own clock or settings, so in a
    fixture of a module or of the session.
    """

    def __init__(self, make: Callable[..., T], *on: "MadeOnce[Any]") -> None:
        people = standing_people()
        with transaction.atomic():
            given = [people, *(each.again(people) for each in on)]
            self._rows = Rows()
            with self._rows.written():
                made = make(*given)
            transaction.set_rollback(True)
        self._given, self._made = given, made

    def again(self, *given: Any) -> T:
        """The rows are there, in the test's own transaction; the objects are about `given`."""
        self._rows.put_back()
        same = {
            id(one): other
            for whole in zip(self._given, given, strict=True)
            for one, other in _parts(*whole)
        }
        return deepcopy(self._made, same)


def _parts(one: Any, other: Any) -> Iterator[tuple[Any, Any]]:
    """The two, and what stands in them by the same name."""
    yield one, other
    if is_dataclass(one):
        for field in fields(one):
            yield from _parts(getattr(one, field.name), getattr(other, field.name))
