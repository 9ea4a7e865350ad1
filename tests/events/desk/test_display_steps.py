"""A display shows whole steps: a figure between two of them was not read off it."""

from typing import Any

import pytest
from django.test import Client

from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from events.models import WeighIn
from tests.events.meeting import Meeting, mass, pads


def sent(meeting: Meeting, **more: Any) -> dict[str, Any]:
    stood = {"row_id": str(new_id()), "scale_set": meeting.scales.pk, "stage": "entry"}
    return {**stood, "driver_in": "on", **more}


def test_a_weight_between_two_steps_is_refused_with_the_nearest_two(
    client: Client, meeting: Meeting
) -> None:
    client.force_login(meeting.people.official)
    step = meeting.scales.division_typed
    assert step == "0.2 lb"
    typed = {"LF": "90.2", "RF": "68", "LR": "92", "RR": "73.3"}
    came = client.post(f"/entries/{meeting.entry.pk}/weigh", sent(meeting, **typed))
    page = came.content.decode()
    assert "73.3 is no figure of" in page
    assert "steps by 0.2 lb: the nearest it shows are 73.2 lb and 73.4 lb" in page
    assert 'value="73.3"' in page
    assert not WeighIn.objects.filter(entry=meeting.entry).exists()


@pytest.mark.parametrize("total", ["320.2", "145.2 kg"])
def test_a_whole_step_is_taken_and_so_is_one_told_in_another_unit(
    meeting: Meeting, total: str
) -> None:
    assert meeting.weigh(total).total == mass(total).value


def test_a_total_between_two_steps_is_refused(meeting: Meeting) -> None:
    with pytest.raises(Invalid, match=r"320.2 lb and 320.4 lb"):
        meeting.weigh("320.3")


def test_no_weight_of_a_car_is_said_in_the_unit_typed(meeting: Meeting) -> None:
    with pytest.raises(Invalid) as refused:
        meeting.weigh(None, pads=pads("1500 lb", "1500 lb", "1600 lb", "1610 lb"))
    assert refused.value.message.startswith("6210 lb is no weight of a car.")
