"""What the API answers is what its schema says, whatever is asked of it."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.cache import cache
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from drf_spectacular.renderers import OpenApiJsonRenderer
from hypothesis import HealthCheck, given, settings
from pytest_django.plugin import DjangoDbBlocker
from schemathesis.checks import (
    content_type_conformance,
    not_a_server_error,
    response_schema_conformance,
)

from clubsetup.access.own import make_token
from clubsetup.access.viewer import viewing_as
from tests.guards.test_api import BASE, ID, ID_OF, INNER, SCHEMA
from tests.guards.world import World, standing_world, undone

EXAMPLES = 6  # of each operation: a guard, not a search
api = schemathesis.openapi.from_dict(json.loads(OpenApiJsonRenderer().render(SCHEMA)))
api.app = get_wsgi_application()
READS = {
    f"get {operation.ok().path.removeprefix(BASE)}": operation.ok()
    for operation in api.include(method="GET").get_all_operations()
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


@pytest.mark.parametrize("name", sorted(READS))
def test_what_is_read_is_what_the_schema_says(
    name: str, world: World, bearer: dict[str, str]
) -> None:
    cases = READS[name].as_strategy()
    if "{" in name:
        find = ID_OF.get(name) or ID[name.split()[1].split("/", maxsplit=1)[0]]
        known = {"slug" if "{slug}" in name else "id": str(find(world))}
        known |= {inner: INNER[inner] for inner in INNER if f"{{{inner}}}" in name}
        # A row that is there, or one that is not.
        cases |= READS[name].as_strategy(path_parameters=known)

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
        with undone():
            response = case.call(headers=bearer)
        case.validate_response(
            response,
            checks=[not_a_server_error, response_schema_conformance, content_type_conformance],
        )

    ask()
