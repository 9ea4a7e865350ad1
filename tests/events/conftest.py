"""What the tests of events share."""

import pytest

from tests.events.meeting import Meeting, make_meeting
from tests.people import People


@pytest.fixture
def meeting(people: People) -> Meeting:
    """An event under way with two entries, nothing weighed yet; see tests/events/meeting.py."""
    return make_meeting(people)
