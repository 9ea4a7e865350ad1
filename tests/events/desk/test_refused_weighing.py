"""A weighing that is refused says everything that is wrong and opens in the first field."""

import re

import pytest
from django.test import Client

from tests.events.meeting import Meeting
from tests.events.test_desk_pages import weigh_form


@pytest.fixture
def text(client: Client, meeting: Meeting) -> str:
    """The page after two pads were written wrong."""
    client.force_login(meeting.people.official)
    typed = {"LF": "95.2", "RF": "46 9/7", "LR": "heavy", "RR": "70", "total": ""}
    page = client.post(f"/entries/{meeting.entry.pk}/weigh", weigh_form(meeting, **typed))
    assert page.status_code == 200
    return page.content.decode()


def test_every_wrong_field_is_said_at_once_with_a_link(text: str) -> None:
    assert '<a href="#id_RF">RF, lb</a>' in text
    assert '<a href="#id_LR">LR, lb</a>' in text
    assert '<a href="#id_RR">' not in text
    assert 'value="46 9/7"' in text


def test_the_page_opens_in_the_first_wrong_field_and_no_other(text: str) -> None:
    boxes = [tag for tag in re.findall(r"<input[^>]*>", text) if re.search(r"\bautofocus\b", tag)]
    assert len(boxes) == 1
    assert 'name="RF"' in boxes[0]


def test_a_pad_carries_its_unit(client: Client, meeting: Meeting) -> None:
    client.force_login(meeting.people.official)
    page = client.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert ">LF, lb</label>" in page
