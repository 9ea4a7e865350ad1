"""The page of the parts: there where it is asked for, and every state on it."""

from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from clubsetup.plots.marks import PATHS
from clubsetup.site.look_samples import boxes

ROOT = Path(__file__).parents[2]


def test_it_is_off_unless_asked_for(client: Client, settings: Any, db: None) -> None:
    settings.LOOK_PAGE = False
    assert client.get("/look/").status_code == 404


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_scheme_may_be_asked_for(client: Client, db: None, scheme: str) -> None:
    page = client.get("/look/", {"scheme": scheme}).content.decode()
    assert f'<html lang="en" data-scheme="{scheme}">' in page


def test_any_other_scheme_is_the_device_s(client: Client, db: None) -> None:
    page = client.get("/look/", {"scheme": '"><b>'}).content.decode()
    assert '<html lang="en">' in page


def test_every_state_of_a_box_is_shown_with_what_describes_it(client: Client, db: None) -> None:
    page = client.get("/look/").content.decode()
    for place, box in enumerate(boxes(), 1):
        assert f'aria-describedby="state-{place}-said"' in page
        assert f'<p class="state {box["look"]}" id="state-{place}-said">' in page
    assert "style=" not in page
    assert "{#" not in page


@pytest.mark.parametrize("name", ["caution", "refused"])
def test_the_marks_in_style_sheets_are_the_same(name: str) -> None:
    drawn = (ROOT / f"clubsetup/static/look/{name}.svg").read_text()
    assert f'd="{PATHS[name]}"' in drawn


def test_every_include_of_the_look_is_shown(client: Client, db: None) -> None:
    folder = ROOT / "clubsetup/templates/look"
    text = "".join(path.read_text() for path in folder.glob("*.html"))
    unused = [path.name for path in folder.glob("*.html") if f'"look/{path.name}"' not in text]
    assert unused == ["look.html"]
