"""A browser that is handed over gets its page, whatever address or operation is asked for."""

from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.urls.exceptions import NoReverseMatch

from clubsetup.access.api.problems import MEDIA_TYPE
from clubsetup.access.middleware import ITS_PAGES, SIGN_OUT
from tests.figures import PAIRS, count
from tests.guards import test_api, test_urls
from tests.guards.world import World, undone
from tests.people import browser_of


def accounts() -> Iterator[str]:
    """Every address of the sign-in that takes no argument."""
    (found,) = (e for e in get_resolver().url_patterns if str(e.pattern) == "accounts/")
    waiting: list[URLPattern | URLResolver] = [found]
    while waiting:
        entry = waiting.pop()
        if isinstance(entry, URLResolver):
            waiting += entry.url_patterns
        elif entry.name:
            try:
                yield reverse(entry.name)
            except NoReverseMatch:
                continue


@pytest.fixture
def phone(world: World) -> Client:
    """The chief's, handed over after a run."""
    client = browser_of(world.people.chief)
    client.get("/")
    told = client.post(f"/runs/{world.run.pk}/hand-over", {"code": "2749"})
    assert told.headers["Location"] == "/handed-over"
    return client


def test_every_address_leads_to_its_page(world: World, phone: Client) -> None:
    paths = [test_urls.path_of(name, world) for name in test_urls.ANSWERS if name not in ITS_PAGES]
    paths += [*accounts(), "/nowhere", "/accounts/nowhere", "/handed-over/"]
    asked = 0
    for path in paths:
        for method in ("get", "post", "head", "put"):
            if method == "post" and path == reverse(SIGN_OUT):
                continue
            count(PAIRS)
            with undone():
                answer = getattr(phone, method)(path)
            assert (answer.status_code, answer.headers["Location"]) == (302, "/handed-over"), path
            assert not answer.content
            asked += 1
    assert asked > 500
    # As the bench's script and htmx ask.
    answer = phone.post("/", {"readings": []}, "application/json")
    assert answer.headers["Location"] == "/handed-over"
    answer = phone.get("/", headers={"HX-Request": "true"})
    assert (answer.status_code, answer.headers["HX-Redirect"]) == (403, "/handed-over")


def test_every_operation_of_the_api_is_refused(world: World, phone: Client) -> None:
    token = test_api.secret_of(world, "read", "write")[1]
    for operation in test_api.ANSWERS:
        answer = test_api.ask(phone, operation, world)
        assert answer.status_code == 403, operation
        assert answer.headers["Content-Type"] == MEDIA_TYPE
        assert "handed over" in answer.json()["detail"]
    # A token beside the cookie opens nothing there; by itself it does what it did.
    with_token = {"Authorization": f"Bearer {token}"}
    assert phone.get("/api/v1/me", headers=with_token).status_code == 403
    assert Client().get("/api/v1/me", headers=with_token).status_code == 200
