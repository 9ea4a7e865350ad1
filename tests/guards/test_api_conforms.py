"""What the API answers is what its schema says, whatever is asked of it."""

import json
import os
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.cache import cache
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from drf_spectacular.renderers import OpenApiJsonRenderer
from hypothesis import HealthCheck, given, settings
from pytest_django.plugin import DjangoDbBlocker
from schemathesis.checks import (
    content_type_conformance,
    not_a_server_error,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from schemathesis.core.result import Ok
from schemathesis.schemas import APIOperation, BaseSchema

from clubsetup.access.account import make_token
from clubsetup.access.viewer import viewing_as
from clubsetup.wsgi import application
from tests.figures import CALLS, count
from tests.guards.test_api import ANSWERS, BASE, ID, ID_OF, INNER, SCHEMA
from tests.guards.world import World, standing_world, undone

# Of each operation: a guard, not a search. A whole search is CLUBSETUP_FUZZ=30.
EXAMPLES = int(os.environ.get("CLUBSETUP_FUZZ", "6"))
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
api = schemathesis.openapi.from_dict(json.loads(OpenApiJsonRenderer().render(SCHEMA)))
api.app = application


def operations_in(chosen: BaseSchema) -> Iterator[APIOperation[Any, Any, Any, Any]]:
    """Its operations; what cannot be read of the schema fails here."""
    for found in chosen.get_all_operations():
        assert isinstance(found, Ok), found
        yield found.ok()


WRITES = {
    f"{operation.method} {operation.path.removeprefix(BASE)}": operation
    for operation in operations_in(api.exclude(method="GET"))
}
READS = {
    f"get {operation.path.removeprefix(BASE)}": operation
    for operation in operations_in(api.include(method="GET"))
}


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[World]:
    # A request would close the connection that the world stands on.
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    with django_db_blocker.unblock(), standing_world() as made:
        yield made
    for signal in signals:
        signal.connect(close_old_connections)


@pytest.fixture(scope="module")
def bearer(world: World) -> dict[str, str]:
    """The chief's way in."""
    chief = world.people.chief
    with viewing_as(chief.pk):
        _, secret = make_token(by=chief, name="All", scopes=["read", "print"], days=1)
    return {"Authorization": f"Bearer {secret}"}


def known_in(name: str, world: World) -> dict[str, str]:
    """What stands in the address of an operation, of a row that is there."""
    if "{" not in name:
        return {}
    find = ID_OF.get(name) or ID[name.split()[1].split("/", maxsplit=1)[0]]
    known = {"slug" if "{slug}" in name else "id": str(find(world))}
    return known | {inner: INNER[inner] for inner in INNER if f"{{{inner}}}" in name}


@pytest.mark.parametrize("name", sorted(READS))
def test_what_is_read_is_what_the_schema_says(
    name: str, world: World, bearer: dict[str, str]
) -> None:
    cases = READS[name].as_strategy()
    if "{" in name:
        # A row that is there, or one that is not.
        cases |= READS[name].as_strategy(path_parameters=known_in(name, world))

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(case=cases)
    def ask(case: Any) -> None:
        cache.clear()
        count(CALLS)
        with undone():
            response = case.call(headers=bearer)
        case.validate_response(response, checks=CHECKS)

    ask()


@pytest.fixture(scope="module")
def may_write(world: World) -> dict[str, dict[str, str]]:
    """Who may do the most, each by a token of their own."""
    found = {}
    for name in WRITERS:
        by = getattr(world.people, name)
        with viewing_as(by.pk):
            _, secret = make_token(by=by, name="Write", scopes=["write", "print"], days=1)
        found[name] = {"Authorization": f"Bearer {secret}"}
    return found


WRITERS = ("chief", "official", "steward")


@pytest.mark.parametrize("name", sorted(WRITES))
def test_what_is_written_is_answered_as_the_schema_says(
    name: str, world: World, may_write: dict[str, dict[str, str]]
) -> None:
    who = next((who for who in WRITERS if ANSWERS[name][who] < 300), WRITERS[0])
    known = known_in(name, world)
    fixed: dict[str, Any] = {"path_parameters": known} if known else {}
    cases = WRITES[name].as_strategy(**fixed)

    @settings(
        max_examples=max(1, EXAMPLES // 3),
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(case=cases)
    def ask(case: Any) -> None:
        cache.clear()
        count(CALLS)
        with undone():
            response = case.call(headers=may_write[who])
        case.validate_response(response, checks=CHECKS)

    ask()
