"""A form whose person was signed out meanwhile leads back to its page."""

from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import reverse

from tests.people import People

pytestmark = pytest.mark.django_db
HERE = "http://testserver"


def next_after(client: Client, came_from: str) -> str:
    answer = client.post(reverse("print-ask"), {"document": "x"}, HTTP_REFERER=came_from)
    where = urlsplit(answer["Location"])
    assert (answer.status_code, where.path) == (302, "/accounts/login/")
    return parse_qs(where.query)["next"][0]


@pytest.mark.parametrize("page", ["/cars/", "/events/?page=2"])
def test_signing_in_leads_to_the_page_with_the_form(client: Client, page: str) -> None:
    assert next_after(client, HERE + page) == page


@pytest.mark.parametrize(
    "page",
    ["", "https://elsewhere.example/cars/", "javascript:alert(1)", f"{HERE}/accounts/login/"],
)
def test_from_anywhere_else_it_leads_to_the_start_page(client: Client, page: str) -> None:
    assert next_after(client, page) == "/"


def test_a_page_that_was_only_asked_for_stays_the_one_to_come_to(client: Client) -> None:
    answer = client.get("/cars/", HTTP_REFERER=HERE + "/events/")
    assert parse_qs(urlsplit(answer["Location"]).query)["next"] == ["/cars/"]


def test_an_address_for_forms_says_so_and_leads_back(client: Client, people: People) -> None:
    client.force_login(people.chief)
    answer = client.get(reverse("print-ask"), HTTP_REFERER=HERE + "/prints/")
    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    page = answer.content.decode()
    assert "only takes what a form sends" in page
    assert 'href="/prints/">Back' in page


def test_the_api_says_it_as_a_problem(client: Client, people: People) -> None:
    client.force_login(people.chief)
    answer = client.delete("/api/v1/me")
    assert (answer.status_code, answer["Content-Type"]) == (405, "application/problem+json")


def test_a_form_without_its_cookie_leads_back_to_its_page(people: People) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(people.chief)
    answer = strict.post("/me/name", {"name": "x"}, HTTP_REFERER=HERE + "/me/name")
    assert answer.status_code == 403
    assert 'href="/me/name">Back to the form' in answer.content.decode()
