"""Another service of this kind: a database of its own, to which all connections turn."""

import itertools
from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connections

from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.signing_key import store_signing_key
from tests.migrated import MIGRATED, copy_database
from tests.people import People, make_people

_count = itertools.count(1)


@contextmanager
def another_instance(embedded: Embedded) -> Iterator[People]:
    """In it the same people's namesakes, in clubs of the same names; none of the same ids."""
    name = f"instance_{next(_count)}"
    copy_database(embedded, name, MIGRATED)
    here = {alias: connections[alias].settings_dict["NAME"] for alias in ("default", "owner")}
    _turn_to(dict.fromkeys(here, name))
    try:
        store_signing_key("owner")
        yield make_people()
    finally:
        _turn_to(here)


def _turn_to(names: dict[str, str]) -> None:
    for alias, name in names.items():
        connections[alias].close()
        connections[alias].settings_dict["NAME"] = name
