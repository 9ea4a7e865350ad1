"""What the tests of events share."""

from collections.abc import Callable

import pytest

from tests.events.meeting import Meeting, make_meeting
from tests.made_once import MadeOnce
from tests.people import People


@pytest.fixture(scope="module")
def meeting_once(once: Callable[..., MadeOnce[Meeting]]) -> MadeOnce[Meeting]:
    """A file of tests that wants other rules says so here."""
    return once(make_meeting)


@pytest.fixture
def meeting(people: People, meeting_once: MadeOnce[Meeting]) -> Meeting:
    """An event under way with two entries, nothing weighed yet; see tests/events/meeting.py."""
    return meeting_once.again(people)
