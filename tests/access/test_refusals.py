"""What an action refuses, as people meet it: beside the field, as a message, as a page."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django import forms
from django.conf import settings
from django.contrib.auth.models import AnonymousUser
from django.core.cache import caches
from django.core.exceptions import PermissionDenied, SuspiciousOperation
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory, override_settings
from django.urls import include, path

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import User
from clubsetup.quantities.errors import QuantityError
from clubsetup.site.pages import form_action, person, submit_action
from tests.people import People, account_of
from tests.people import person as make_person


class NameForm(forms.Form):
    name = forms.CharField()


def keeps(*, name: str) -> User:
    return make_person(name)


def refusing(exception: Exception) -> Callable[..., None]:
    def action(*, name: str) -> None:
        make_person(name)
        raise exception

    return action


@pytest.mark.django_db
class TestFormAction:
    def test_done(self) -> None:
        form = NameForm({"name": "ann"})
        assert submit_action(form, keeps)
        assert form.outcome.email == "ann@example.org"  # type: ignore[attr-defined]

    def test_nothing_is_tried_with_an_invalid_form(self) -> None:
        assert not submit_action(NameForm({}), refusing(AssertionError("not reached")))
        assert not form_action(NameForm({}), refusing(AssertionError("not reached")), name="x")

    @pytest.mark.parametrize(
        ("exception", "where"),
        [
            (Invalid("name", "Taken."), "name"),
            (Invalid("elsewhere", "Taken."), "__all__"),
            (WrongState("Closed."), "__all__"),
            (QuantityError("Not a length.", "x"), "__all__"),
        ],
    )
    def test_a_refusal_stands_on_the_form_and_nothing_is_saved(
        self, exception: Exception, where: str
    ) -> None:
        form = NameForm({"name": "ann"})
        assert not submit_action(form, refusing(exception))
        assert set(form.errors) == {where}
        assert str(exception) in str(form.errors)
        assert account_of("ann@example.org") is None

    def test_not_allowed_is_no_matter_for_the_form(self) -> None:
        with pytest.raises(NotAllowed):
            submit_action(NameForm({"name": "ann"}), refusing(NotAllowed("No.")))


def raising(request: HttpRequest, kind: str) -> HttpResponse:
    make_person("left behind")
    raise {
        "state": WrongState("The sheet is closed. Correct it instead."),
        "invalid": Invalid("name", "Give a name."),
        "quantity": QuantityError("46 9/7 is not divided in the usual parts.", "46 9/7"),
        "not-allowed": NotAllowed("Only the crew of Wrens may do this."),
        "denied": PermissionDenied(),
        "suspicious": SuspiciousOperation("odd"),
        "bug": RuntimeError("secret detail"),
    }[kind]


urlpatterns = [path("raise/<str:kind>", raising), path("", include("clubsetup.urls"))]


@pytest.mark.django_db
@pytest.mark.urls(__name__)
class TestPages:
    @pytest.mark.parametrize(
        ("kind", "status", "says"),
        [
            ("state", 409, "The sheet is closed. Correct it instead."),
            ("invalid", 400, "Give a name."),
            ("quantity", 400, "46 9/7 is not divided in the usual parts."),
            ("not-allowed", 403, "Only the crew of Wrens may do this."),
            ("denied", 403, "You may see this but not do that."),
            ("suspicious", 400, "could not be read"),
            ("bug", 500, "Something broke here; what you typed is kept"),
        ],
    )
    def test_each_refusal_has_its_page_and_saves_nothing(
        self, kind: str, status: int, says: str
    ) -> None:
        client = Client(raise_request_exception=False)
        client.force_login(make_person("ann"))
        answer = client.get(f"/raise/{kind}")
        page = answer.content.decode()
        assert answer.status_code == status
        assert says in page
        assert "secret detail" not in page
        assert "odd" not in page
        assert '<a class="button" href="/">' in page
        assert account_of("left.behind@example.org") is None

    def test_a_page_that_is_not_there(self, client: Client) -> None:
        answer = client.get("/no/such/page")
        assert answer.status_code == 404
        assert "not yours to see" in answer.content.decode()

    def test_a_form_without_its_token(self, people: People) -> None:
        strict = Client(enforce_csrf_checks=True)
        strict.force_login(people.chief)
        answer = strict.post("/me/name", {"name": "x"})
        assert answer.status_code == 403
        assert "send it again" in answer.content.decode()


def test_person_is_for_who_is_signed_in() -> None:
    request = RequestFactory().get("/")
    request.user = AnonymousUser()
    with pytest.raises(NotAllowed):
        person(request)


@pytest.fixture
def shared_cache() -> Iterator[None]:
    from clubsetup.settings.safety import CACHES  # noqa: PLC0415 (the tests' settings replace it)

    with override_settings(CACHES=CACHES):
        yield
        caches["default"].clear()


def test_rate_limits_count_across_processes(shared_cache: None) -> None:
    """What one process counts, another one finds: several serve the same site."""
    other = (
        "import json, django; django.setup(); from django.core.cache import cache;"
        "print(json.dumps(cache.get('tries'))); cache.set('tries', [3], 60)"
    )
    caches["default"].set("tries", [1, 2], 60)
    done = subprocess.run(
        [sys.executable, "-c", other],
        cwd=Path(settings.BASE_DIR),
        env={
            "PATH": "/usr/bin:/bin",
            "DJANGO_SETTINGS_MODULE": "clubsetup.settings",
            "CLUBSETUP_DATA": str(settings.DATA_DIR),
            "DATABASE_URL": "postgresql://nobody@localhost:1/none",
        },
        capture_output=True,
        text=True,
        check=True,
    )
    assert json.loads(done.stdout) == [1, 2]
    assert caches["default"].get("tries") == [3]
