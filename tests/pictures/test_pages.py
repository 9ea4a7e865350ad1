"""No page is left without a picture, and no exception stands for one that is not there."""

from tests.guards.test_urls import ANSWERS, FOUND
from tests.pictures.pages import LAYOUTS, MADE, MORE, NO_PAGES, REFUSED, SEEN_BY, wanted
from tests.pictures.templates import NOT_SHOWN, page_templates


def test_every_address_that_is_asked_for_a_page_has_a_picture() -> None:
    pages = {name for name, (method, _) in ANSWERS.items() if method != "post"}
    shown = {address for _, address, _ in wanted()}
    assert pages - shown == set(NO_PAGES)


def test_what_is_said_of_pages_is_of_pages_that_are_there() -> None:
    names = {name for name, _, _ in wanted()}
    assert set(LAYOUTS) <= names
    assert set(SEEN_BY) <= set(FOUND)
    assert {name.partition(",")[0] for name in MORE} <= set(FOUND)
    assert {address for address, *_ in (*MADE.values(), *REFUSED.values())} <= set(FOUND)


def test_a_template_without_a_picture_is_there() -> None:
    assert set(NOT_SHOWN) <= page_templates()
