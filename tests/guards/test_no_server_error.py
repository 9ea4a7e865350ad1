"""No form, no address and no operation of the API falls over what is sent to it."""

import json
import os
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import NoReverseMatch, URLResolver, get_resolver, reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clubsetup.access.api.problems import MEDIA_TYPE
from tests.figures import CALLS, count
from tests.guards import nonsense as n
from tests.guards import test_api as api
from tests.guards import test_urls as pages
from tests.guards.world import World, undone
from tests.people import browser_of

# Of each address, form and operation; a whole search is CLUBSETUP_FUZZ=30.
EXAMPLES = int(os.environ.get("CLUBSETUP_FUZZ", "2"))
ASKED = n.asked_in_addresses()


def accounts() -> list[str]:
    """The addresses of sign-in, passwords and passkeys that hold nobody's row."""
    inside = next(e for e in get_resolver().url_patterns if str(e.pattern) == "accounts/")
    assert isinstance(inside, URLResolver)
    found = [name for name in inside.reverse_dict if isinstance(name, str)]
    return sorted(name for name in found if "%" not in reverse_of(name))


def reverse_of(name: str) -> str:
    """The address, or a sign that it needs more than a name."""
    try:
        return reverse(name)
    except NoReverseMatch:
        return "%"


some = settings(
    max_examples=EXAMPLES,
    deadline=None,
    database=None,
    derandomize=EXAMPLES < 10,
    suppress_health_check=list(HealthCheck),
)
queries = st.dictionaries(st.sampled_from(ASKED), n.texts, min_size=1, max_size=3)


@pytest.fixture(scope="module")
def clients(world: World) -> dict[str, Client]:
    """Everybody's browser; a mistake in a view is raised here."""
    found = {}
    for name, person in world.who().items():
        found[name] = browser_of(person) if person is not None else Client()
    return found


@pytest.fixture(scope="module")
def forms(world: World, clients: dict[str, Client]) -> dict[str, dict[str, str]]:
    """The boxes of every form that the pages show, by the name of where the form goes."""
    found: dict[str, dict[str, str]] = {}
    for name, (method, answers) in pages.ANSWERS.items():
        if method == "post":
            continue
        address = pages.path_of(name, world)
        for who in {who for who, code in answers.items() if code in {200, 302}} & set(CHOSEN):
            with undone():
                page = clients[who].get(address)
            if page.headers.get("Content-Type", "").startswith("text/html"):
                read = n.Forms(page.content.decode(), address)
                for goes_to, boxes in n.by_name(read.found):
                    found.setdefault(goes_to, {}).update(boxes)
    return found


# Between them they may do everything.
CHOSEN = ("chief", "steward", "official", "coach")


def who_may(answers: dict[str, int]) -> str:
    """One who gets through to the view's own work."""
    return next((who for who in CHOSEN if answers[who] in {200, 201, 204, 302}), CHOSEN[0])


def held(ask: Callable[[], Any]) -> Any:
    """What is answered; whatever it does is undone."""
    cache.clear()
    count(CALLS)
    with undone():
        answer = ask()
    assert answer.status_code < 500
    return answer


@pytest.mark.parametrize("name", [name for name, row in pages.ANSWERS.items() if row[0] != "post"])
def test_an_address(name: str, world: World, clients: dict[str, Client]) -> None:
    client, address = clients[who_may(pages.ANSWERS[name][1])], pages.path_of(name, world)

    @some
    @given(query=queries)
    def ask(query: dict[str, str]) -> None:
        held(lambda: client.get(address, query))

    ask()


@pytest.mark.parametrize("name", sorted(pages.ANSWERS))
def test_a_form(
    name: str, world: World, clients: dict[str, Client], forms: dict[str, dict[str, str]]
) -> None:
    client, address = clients[who_may(pages.ANSWERS[name][1])], pages.path_of(name, world)
    sent = {k: str(v) for k, v in pages.SENT.get(name, lambda w: {})(world).items()}
    boxes = {**forms.get(name, {}), **sent} or {"text": ""}

    @some
    @given(data=st.data())
    def ask(data: st.DataObject) -> None:
        names = data.draw(st.lists(st.sampled_from(sorted(boxes)), min_size=1, max_size=4))
        wrong = {name: data.draw(n.texts) for name in names}
        held(lambda: client.post(address, {**boxes, **wrong}))

    ask()


@pytest.mark.parametrize("name", accounts())
def test_the_ways_in(name: str, world: World, clients: dict[str, Client]) -> None:
    fields = st.sampled_from(
        ["login", "password", "email", "code", "credential", "next", "action_add"]
    )

    @some
    @given(data=st.dictionaries(fields, n.texts, min_size=1), query=queries)
    def ask(data: dict[str, str], query: dict[str, str]) -> None:
        for who in ("nobody", "chief"):
            held(partial(clients[who].get, reverse(name), query))
            held(partial(clients[who].post, reverse(name), data))

    ask()


@pytest.mark.parametrize("operation", sorted(api.ANSWERS))
def test_an_operation(operation: str, world: World, clients: dict[str, Client]) -> None:
    client = clients[who_may(api.ANSWERS[operation])]
    method, path = operation.split()
    described = api.SCHEMA["paths"][api.BASE + path][method].get("parameters", [])
    asked = [one["name"] for one in described if one["in"] == "query"] or ["x"]
    right = api.BODY.get(operation, lambda w: None)(world)
    query = st.dictionaries(st.sampled_from(asked), n.texts, max_size=2)

    @some
    @given(body=n.altered(right), query=query)
    def ask(body: Any, query: dict[str, str]) -> None:
        address = api.path_of(operation, world).partition("?")[0]
        more = {} if method == "get" else as_sent(right, body)
        answer = held(lambda: client.generic(method.upper(), address, query_params=query, **more))
        if answer.status_code >= 400:
            assert answer.headers["Content-Type"] == MEDIA_TYPE

    ask()


def as_sent(right: Any, body: Any) -> dict[str, Any]:
    """As a form where the operation takes one with a file, as JSON else."""
    if isinstance(body, dict) and api.written(right)["content_type"] != "application/json":
        return api.written({k: v if isinstance(v, bytes) else str(v) for k, v in body.items()})
    return {"data": json.dumps(body, default=str), "content_type": "application/json"}
