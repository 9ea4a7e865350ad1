"""No refusal is the framework's own: each names its box and says how to mend it."""

import re
from typing import Any

import pytest
from django import forms
from django.test import Client
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from clubsetup.access.api.problems import _field_errors
from tests.guards.test_bounds import FORMS, SERIALIZERS
from tests.people import People

THEIRS = re.compile(
    r"This field|Ensure (this|that|th)|Enter a (valid|number|whole|date|list)|Select a valid|"
    # An id that is none comes from no box: only from a page that somebody has altered.
    r"not a valid choice|valid (boolean|integer|number|string|JSON)|wrong format|"
    r"object does not exist|Expected a|may not be|Must be|Incorrect type|Null characters|"
    r"No file was submitted|is not one of the available|A valid |Not a valid|Value must"
)
WRONG: list[Any] = ["", "x" * 5000, "nonsense\x00", "-1e30", "1e30", "13.123456789", "{", "-5", "0"]
SENT: list[Any] = [None, "", "x" * 5000, -(10**30), 1e300, [], {}, [1], {"a": 1}, True]


def fields() -> list[tuple[str, forms.Field]]:
    return [
        (f"{name}.{box}", field)
        for name, form in FORMS.items()
        for box, field in form.base_fields.items()
    ]


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "field"), fields(), ids=[name for name, _ in fields()])
def test_a_box_says_it_in_our_words(name: str, field: forms.Field) -> None:
    form_class = type("One", (forms.Form,), {"box": field})
    said = []
    for wrong in WRONG:
        form = form_class({"box": wrong})
        said += [message for messages in form.errors.values() for message in messages]
    assert [message for message in said if THEIRS.search(message)] == []


@pytest.mark.parametrize(
    "field",
    [
        forms.EmailField(label="Address"),
        forms.IntegerField(label="Laps", min_value=1, max_value=9),
        forms.DateTimeField(label="When"),
        forms.MultipleChoiceField(label="Which", choices=[("a", "A")]),
        forms.FloatField(label="Ratio"),
    ],
)
def test_so_does_any_box_there_may_come_to_be(field: forms.Field) -> None:
    form_class = type("One", (forms.Form,), {"box": field})
    for wrong in WRONG:
        for messages in form_class({"box": wrong}).errors.values():
            assert not any(map(THEIRS.search, messages)), messages
            assert all(str(field.label) in one for one in messages)


def api_fields() -> list[tuple[str, Any]]:
    return [
        (f"{name}.{key}", field)
        for name, one in SERIALIZERS.items()
        for key, field in one._declared_fields.items()
        if not getattr(field, "read_only", False)
    ]


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "field"), api_fields(), ids=[name for name, _ in api_fields()])
def test_the_api_says_it_in_our_words(name: str, field: Any) -> None:
    key = name.rpartition(".")[2]
    said = []
    for wrong in SENT:
        one = type("One", (serializers.Serializer,), {key: field})
        form = one(data={key: wrong})
        try:
            form.is_valid()
        except ValidationError as error:
            said += _field_errors(error.detail)
        else:
            said += _field_errors(form.errors)
    empty = type("One", (serializers.Serializer,), {key: field})(data={})
    empty.is_valid()
    said += _field_errors(empty.errors)
    assert [one for one in said if THEIRS.search(one["detail"])] == []


def test_a_person_reads_what_to_fill_in(client: Client, people: People) -> None:
    client.force_login(people.steward)
    page = client.post(f"/clubs/{people.club.pk}/tracks/new", {"surface": "paved"})
    assert "Fill in “Name of the track”: it is needed." in page.content.decode()


def test_a_program_reads_which_field(client: Client, people: People) -> None:
    client.force_login(people.steward)
    sent = {"club": str(people.club.pk), "name": "Fern", "surface": "gravel"}
    problem = client.post("/api/v1/tracks", sent, "application/json").json()
    assert problem["detail"] == (
        "“gravel” is not among the choices of “surface”; the schema lists them."
    )
    problem = client.post("/api/v1/tracks", {}, "application/json").json()
    assert "Send “name”: it is needed." in [one["detail"] for one in problem["errors"]]


def test_signing_in_says_it_too(client: Client, db: None) -> None:
    page = client.post("/accounts/login/", {"login": "", "password": ""}).content.decode()
    assert "it is needed" in page
    assert "This field" not in page
