"""The database is taken away: before a request, in the middle of one, at its very end."""

import threading
from collections.abc import Callable, Iterator
from typing import Any

import psycopg
import pytest
from django.db import connection, connections
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.test.utils import override_settings
from django.urls import path
from rest_framework.decorators import api_view
from rest_framework.response import Response

from clubsetup import urls
from clubsetup.access.models import User
from clubsetup.runtime import addresses
from clubsetup.runtime.passwords import SUPERUSER
from clubsetup.site.database_away import away
from tests.people import People

handler400, handler404, handler500 = urls.handler400, urls.handler404, urls.handler500
asked: list[str] = []
kills: list[int] = []  # how many more times the connection is killed


def _kill() -> None:
    """Somebody else ends this request's own connection."""
    if not kills:
        return
    kills.pop()
    pid = connection.connection.info.backend_pid
    folder = addresses.embedded_folder()
    admin = addresses.embedded_url(folder, "postgres", SUPERUSER)
    with psycopg.connect(admin, autocommit=True) as other:
        other.execute("SELECT pg_terminate_backend(%s, 5000)", [pid])


def in_the_middle(request: HttpRequest) -> HttpResponse:
    asked.append(request.method or "")
    _kill()
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("whole")


def at_the_end(request: HttpRequest) -> HttpResponse:
    asked.append(request.method or "")
    _kill()
    return HttpResponse("whole")


@api_view(["GET", "POST"])
def of_the_api(request: Any) -> Response:
    in_the_middle(request)
    return Response({})


def mistaken(request: HttpRequest) -> HttpResponse:
    raise KeyError("ours")


urlpatterns = [
    path("mistaken", mistaken),
    path("api/v1/mistaken", mistaken),
    path("middle", in_the_middle),
    path("end", at_the_end),
    path("api/v1/middle", of_the_api),
    *urls.urlpatterns,
]


@pytest.fixture
def elsewhere(django_db_setup: None, django_db_blocker: Any) -> Iterator[Callable[..., Any]]:
    """Runs in a thread, whose connection is its own; the tests' own is left alone."""
    asked.clear()
    kills.clear()

    def run(work: Callable[[], Any]) -> Any:
        found: list[Any] = []

        def there() -> None:
            try:
                with override_settings(ROOT_URLCONF=__name__):
                    found.append(work())
            finally:
                connections.close_all()

        with django_db_blocker.unblock():
            thread = threading.Thread(target=there)
            thread.start()
            thread.join(60)
        return found[0]

    yield run
    kills.clear()


def browser() -> Client:
    return Client(raise_request_exception=False)


def gone() -> None:
    """This thread's database listens nowhere."""
    connections["default"].close()
    nowhere = {"HOST": "127.0.0.1", "PORT": "9"}
    connections["default"].settings_dict = {**connections["default"].settings_dict, **nowhere}


def test_asked_to_read_it_asks_again(elsewhere: Callable[..., Any]) -> None:
    for address in ("/middle", "/end", "/api/v1/middle"):
        asked.clear()
        kills[:] = [1]
        answer = elsewhere(lambda address=address: browser().get(address))
        assert answer.status_code in {200, 401}, address
        assert len(asked) == (0 if answer.status_code == 401 else 2)


def test_twice_is_enough(elsewhere: Callable[..., Any]) -> None:
    kills[:] = [1] * 9
    answer = elsewhere(lambda: browser().get("/middle"))
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
    assert asked == ["GET", "GET"]


def test_what_was_sent_is_never_sent_again_by_us(elsewhere: Callable[..., Any]) -> None:
    kills[:] = [1]
    typed = {"note": "Half a turn <out>", "password": "correct horse 9", "csrf_token": "c-1"}
    answer = elsewhere(lambda: browser().post("/middle", typed))
    said = answer.content.decode()
    assert (answer.status_code, asked) == (503, ["POST"])
    assert answer.headers["Retry-After"] == "5"
    assert "no-store" in answer.headers["Cache-Control"]
    assert "Nothing of this was saved" in said
    assert "Half a turn &lt;out&gt;" in said
    assert "correct horse" not in said
    assert "c-1" not in said
    assert "Send it again" not in said, "not all of it is there"


def test_where_all_is_kept_it_can_be_sent_again(elsewhere: Callable[..., Any]) -> None:
    kills[:] = [1]
    answer = elsewhere(lambda: browser().post("/middle?a=1", {"note": "Out."}))
    assert "Send it again" in answer.content.decode()
    assert 'action="/middle?a=1"' in answer.content.decode()


def test_at_the_end_nobody_claims_to_know(elsewhere: Callable[..., Any]) -> None:
    kills[:] = [1]
    said = elsewhere(lambda: browser().post("/end", {"note": "Out."})).content.decode()
    assert "it is not known whether it was" in said
    assert "Send it again" not in said


def test_a_sign_in_keeps_nothing(elsewhere: Callable[..., Any]) -> None:
    def sign_in() -> Any:
        gone()
        return browser().post("/accounts/login/", {"login": "a@b.example", "password": "secret 9"})

    answer = elsewhere(sign_in)
    assert answer.status_code == 503
    assert "secret 9" not in answer.content.decode()
    assert "a@b.example" not in answer.content.decode()


@pytest.mark.parametrize("address", ["/", "/accounts/login/", "/middle", "/join/x", "/no-such"])
def test_without_a_database_pages_say_so(elsewhere: Callable[..., Any], address: str) -> None:
    def ask() -> Any:
        gone()
        client = browser()
        client.cookies["sessionid"] = "s" * 32
        return client.get(address)

    answer = elsewhere(ask)
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
    assert "Try again" in answer.content.decode()


@pytest.mark.parametrize("method", ["get", "post", "delete"])
def test_and_the_api_in_its_own_words(elsewhere: Callable[..., Any], method: str) -> None:
    def ask() -> Any:
        gone()
        bearer = {"authorization": "Bearer no-such"}
        return getattr(browser(), method)("/api/v1/me", headers=bearer)

    answer = elsewhere(ask)
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert answer.json()["status"] == 503


def test_the_page_knows_its_reader_without_asking() -> None:
    request = RequestFactory().post("/middle", {"note": "Out."})
    person = User(name="Wren")
    request._cached_user = person  # type: ignore[attr-defined]
    assert f'data-viewer="{person.pk}"' in away(request).content.decode()


def test_other_mistakes_stay_ours(elsewhere: Callable[..., Any]) -> None:
    page = elsewhere(lambda: browser().get("/mistaken"))
    assert page.status_code == 500
    assert "Retry-After" not in page.headers
    problem = elsewhere(lambda: browser().get("/api/v1/mistaken"))
    assert (problem.status_code, problem.json()["status"]) == (500, 500)


def test_redis_away_is_told_as_the_database_is(people: People) -> None:
    """Nothing listens on port 1."""
    client = Client()
    gone = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": "redis://127.0.0.1:1/0",
        }
    }
    client.raise_request_exception = False
    with override_settings(CACHES=gone):
        answer = client.post("/accounts/login/", {"login": "a@b.example", "password": "wrong"})
    assert answer.status_code == 503
    assert answer["Retry-After"] == "5"
    assert b"Nothing of this was saved" in answer.content
