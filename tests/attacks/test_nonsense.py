"""What no person types: it is refused by name, and the service never falls over it."""

import json
from base64 import b64encode
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlencode
from wsgiref.util import setup_testing_defaults

import pytest
from django.conf import settings
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from clubsetup.wsgi import application
from tests.people import People

PROBLEM = "application/problem+json"
DRIVERS = "/api/v1/drivers"
DEEP = "[" * 5000 + "]" * 5000
NUL = "a\x00b"
HUGE = "1e999999999"


@pytest.fixture
def chief(people: People) -> Client:
    """The chief's browser; a server error is an answer like any other."""
    client = Client(raise_request_exception=False)
    client.force_login(people.chief)
    return client


def refused(answer: Any, status: int = 400) -> Any:
    """The problem that the API answers with."""
    assert (answer.status_code, answer.headers["Content-Type"]) == (status, PROBLEM)
    assert answer.json()["status"] == status
    return answer.json()


def post(client: Client, body: str | bytes, **more: Any) -> Any:
    sent = body.encode() if isinstance(body, str) else body
    return client.generic("POST", DRIVERS, sent, **{"content_type": "application/json", **more})


@pytest.mark.parametrize(
    ("value", "pointer"),
    [
        (r'"a\u0000b"', "#/display_name"),
        (r'"\ud800"', "#/display_name"),
        (r'{"deeper": ["\u0000"]}', "#/display_name/deeper/0"),
        (HUGE, "#/display_name"),
        ("-" + HUGE, "#/display_name"),
        ("9" * 400, "#/display_name"),
    ],
)
def test_json_says_where_it_cannot_be_kept(
    people: People, chief: Client, value: str, pointer: str
) -> None:
    body = f'{{"team": "{people.team.pk}", "display_name": {value}}}'
    assert refused(post(chief, body))["errors"][0]["pointer"] == pointer


@pytest.mark.parametrize(
    "body",
    [
        DEEP,
        '{"a":' * 5000 + "1" + "}" * 5000,
        f'{{"display_name": {"[" * 60 + "]" * 60}}}',
        "NaN",
        '{"display_name": Infinity}',
        "9" * 5000,
        b'{"display_name": "\xff"}',
        b"\xff\xfe{\x00}\x00",
        "{",
        "",
        "\x00",
        r'{"a\u0000b": 1}',
    ],
    ids=range(12),
)
def test_what_is_no_json_of_ours_is_refused(chief: Client, body: str | bytes) -> None:
    assert refused(post(chief, body))["detail"]


def test_a_body_over_the_limit_is_too_large(chief: Client) -> None:
    body = json.dumps({"display_name": "x" * settings.DATA_UPLOAD_MAX_MEMORY_SIZE})
    refused(post(chief, body), 413)
    path = reverse("my-name")
    page = chief.post(path, {"name": "x" * settings.DATA_UPLOAD_MAX_MEMORY_SIZE})
    assert page.status_code in {200, 413}, "as parts: each is counted by the form"
    page = chief.post(path, urlencode({"name": body}), "application/x-www-form-urlencoded")
    assert page.status_code == 413
    assert "larger than the service takes" in page.content.decode()


KINDS = [
    *(
        f"text/plain; charset={name}"
        for name in ("base64", "hex", "rot13", "utf-16", "idna", "no-such", "\u00e9")
    ),
    "text/plain; charset*=no-such''%41",
    "text/plain; charset*=base64''%41",
]


@pytest.fixture
def _nothing_is_closed() -> Iterator[None]:
    """The answers here need no database; the server would look after its connections."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


def by_the_server(kind: str, query: str = "", path: str = DRIVERS) -> tuple[str, str]:
    """Status and kind of the answer, asked as the web server asks: no client tidies it."""
    environ: dict[str, Any] = {"PATH_INFO": path, "CONTENT_TYPE": kind, "QUERY_STRING": query}
    setup_testing_defaults(environ)
    told: list[Any] = []

    def start(status: str, headers: list[tuple[str, str]], _: object = None, /) -> Any:
        told.extend([status, dict(headers)])

    answer = application(environ, start)
    b"".join(answer)
    return told[0], told[1]["Content-Type"]


@pytest.mark.usefixtures("_nothing_is_closed")
@pytest.mark.parametrize("kind", KINDS)
def test_another_encoding_is_refused_before_it_is_tried(kind: str) -> None:
    """The framework reads the address in it while no middleware stands around it yet."""
    for query in ("", "page_size=1"):
        assert by_the_server(kind, query) == ("400 Bad Request", PROBLEM)
        status, page = by_the_server(kind, query, "/me/")
        assert (status, page.split(";")[0]) == ("400 Bad Request", "text/html")


@pytest.mark.usefixtures("_nothing_is_closed")
def test_utf_8_by_name_is_no_way_around_the_number_of_names() -> None:
    query = "&".join(f"a{n}=1" for n in range(1200))
    assert by_the_server("text/plain; charset=utf-8", query) == ("400 Bad Request", PROBLEM)


@pytest.mark.parametrize(
    "query",
    ["team=%00", "team=a%00b", "page_size=%ff", "%00=1", "x=%ed%a0%80", "x=\u00ff", "&&=%c0"],
)
def test_an_address_that_cannot_be_read(chief: Client, query: str) -> None:
    refused(chief.get(DRIVERS, QUERY_STRING=query))
    page = chief.get(reverse("prints"), QUERY_STRING=query)
    assert page.status_code == 400
    assert 'data-refused="early"' in page.content.decode()


def test_the_part_of_the_address_is_named(chief: Client) -> None:
    problem = refused(chief.get(DRIVERS, QUERY_STRING="page_size=2&team=%00"))
    assert [error["parameter"] for error in problem["errors"]] == ["team"]
    page = chief.get(reverse("prints"), QUERY_STRING="page=%00").content.decode()
    assert "“page” in the address" in page


@pytest.mark.parametrize(
    "query",
    [
        "&".join(f"a{n}=1" for n in range(1200)),
        "team=nonsense",
        "team=" + "9" * 5000,
        "page_size=" + "9" * 5000,
        "cursor=nonsense",
        "cursor=\u00e9",
        *(
            "cursor=" + b64encode(text).decode()
            for text in (b"p=nonsense", b"p=%00", b"p=", b"o=" + b"9" * 40, b"r=x", b"\xff\xff")
        ),
    ],
    ids=range(12),
)
def test_paging_and_filters_take_no_nonsense(chief: Client, query: str) -> None:
    assert chief.get(DRIVERS + "?" + query).status_code in {200, 400, 404}


@pytest.mark.parametrize("path", ["/api/v1/drivers/%00", "/api/v1/%ff", "/api/v1/drivers/x%00y"])
def test_a_path_of_nonsense(chief: Client, path: str) -> None:
    assert chief.get(path).status_code in {400, 404}
    assert chief.get(path.replace("/api/v1/drivers", "/join")).status_code in {400, 404}


def test_a_cookie_that_spells_nul_signs_nobody_in(people: People) -> None:
    client = Client(raise_request_exception=False)
    cookie = 'sessionid="' + r"\000" * 32 + '"; csrftoken="' + r"\000" * 32 + '"'
    assert client.get(DRIVERS, headers={"cookie": cookie}).status_code == 401
    assert client.get("/", headers={"cookie": cookie}).status_code == 302


def test_a_form_names_the_box_and_keeps_what_was_typed(people: People, chief: Client) -> None:
    path = reverse("driver-new", args=[people.team.pk])
    page = chief.post(path, {"display_name": NUL})
    said = page.content.decode()
    assert page.status_code == 200
    assert escape(NUL) in said
    assert "holds a sign that cannot be kept" in said


def test_so_does_a_choice(people: People, chief: Client) -> None:
    page = chief.post(reverse("car-new", args=[people.team.pk]), {"number": "7", "chassis": NUL})
    assert page.status_code == 200
    assert "holds a sign that cannot be kept" in page.content.decode()


TORN = [
    ("multipart/form-data", b"nothing"),
    ("multipart/form-data; boundary=", b"--\r\n"),
    ("multipart/form-data; boundary=\xe9", b"--x--"),
    (f"multipart/form-data; boundary={'x' * 300}", b"--x--"),
    ("multipart/form-data; boundary=x", b"--x\r\nContent-Disposition: form-data; name=a"),
    ("multipart/form-data; boundary=x", b"\x00" * 500),
    (
        "multipart/form-data; boundary=x",
        b'--x\r\nContent-Disposition: form-data; name="a\x00"\r\n\r\n\x00\r\n--x--\r\n',
    ),
    (
        "multipart/form-data; boundary=x",
        b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a"\r\n'
        b"Content-Transfer-Encoding: base64\r\n\r\n%%%\r\n--x--\r\n",
    ),
    (
        "multipart/form-data; boundary=x",
        b"".join(
            b'--x\r\nContent-Disposition: form-data; name="f%d"; filename="a"\r\n\r\nz\r\n' % n
            for n in range(9)
        )
        + b"--x--\r\n",
    ),
    (
        "multipart/form-data; boundary=x",
        b"".join(
            b'--x\r\nContent-Disposition: form-data; name="f%d"\r\n\r\nz\r\n' % n
            for n in range(1100)
        )
        + b"--x--\r\n",
    ),
    ("application/x-www-form-urlencoded", b"&".join(b"a%d=1" % n for n in range(1200))),
]


@pytest.mark.parametrize(("kind", "body"), TORN, ids=range(len(TORN)))
def test_a_torn_or_crowded_form(chief: Client, kind: str, body: bytes) -> None:
    answer = chief.generic("POST", "/api/v1/ballast-photos", body, kind)
    refused(answer, answer.status_code)
    assert answer.status_code in {400, 413, 415}
    # What can be read as a form is one: without what it asks for.
    assert chief.generic("POST", reverse("my-name"), body, kind).status_code in {200, 400, 413}


@pytest.mark.parametrize(
    "text", [HUGE, "-" + HUGE, "1e-999999999", "inf", "nan", "9" * 60, "9" * 5000]
)
def test_figures_that_no_column_holds(people: People, chief: Client, text: str) -> None:
    for url, field in (("driver-weight-new", "mass"),):
        driver = chief.post(
            DRIVERS, {"team": str(people.team.pk), "display_name": "Wren"}, "application/json"
        ).json()["id"]
        page = chief.post(reverse(url, args=[driver]), {field: text, "weighed_on": "2026-03-01"})
        assert page.status_code == 200
        assert text in page.content.decode()
        sent = {"driver": driver, "mass": text, "weighed_on": "2026-03-01"}
        refused(chief.post("/api/v1/driver-weights", sent, "application/json"))
    days = {"name": "Mine", "scopes": ["read"], "days": text}
    refused(chief.post("/api/v1/me/tokens", days, "application/json"))
