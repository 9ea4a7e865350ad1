"""What was weighed and what came off or on afterwards: 'meets' goes, 'fails' stays."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cars.garage.actions.ballast import add_ballast_piece
from cars.models import BallastPiece
from cars.sheets.actions.ballast import move_ballast_piece
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.units import Units
from events.actions.ballast import check_no_ballast, record_not_on_car
from events.actions.events import end_event
from events.actions.voiding import void_ballast_check, void_weigh_in
from events.models import BallastCheck, WeighIn
from events.presenters.remedies import remedies
from events.queries.mass_changes import ANOTHER, CAME_OFF, LISTED, PUT_ON, changed_since
from events.queries.states import State, state_of
from tests.events.meeting import RULES, Meeting, make_meeting, mass
from tests.events.test_ballast_checks import look
from tests.made_once import MadeOnce
from tests.markup import one_line
from tests.people import People

FIXED: list[tuple[str, dict[str, Any]]] = [*RULES, ("ballast_fixed", {})]
AGAIN = f"Weigh again: since it was weighed, {CAME_OFF}."
PADS = {"LF": "76", "RF": "68", "LR": "110", "RR": "67"}  # 321 lb, 57.9 % left


@pytest.fixture(scope="module")
def meeting_once(once: Callable[..., MadeOnce[Meeting]]) -> MadeOnce[Meeting]:
    return once(lambda people: make_meeting(people, FIXED))


def off(meeting: Meeting, **what: Any) -> BallastCheck:
    """The official records a piece as not on the car; the Wrens' own unless said otherwise."""
    by = meeting.people.official
    given = {"piece": meeting.piece} if "look" not in what else {}
    with viewing_as(by.pk):
        return record_not_on_car(
            by=by, entry=meeting.entry, **{"reason": "Taken off", **given, **what}
        )


def none(meeting: Meeting) -> BallastCheck:
    by = meeting.people.official
    with viewing_as(by.pk):
        return check_no_ballast(by=by, entry=meeting.entry)


def another_piece(meeting: Meeting, label: str = "27b") -> BallastPiece:
    """The family puts another piece on its list of the ballast on the car."""
    chief = meeting.people.chief
    with viewing_as(chief.pk):
        return add_ballast_piece(
            by=chief,
            team=meeting.people.team,
            label=label,
            marked_mass=mass("2 lb"),
            car=meeting.car,
        )


def state(meeting: Meeting) -> State:
    return state_of(list(meeting.standing().values()))


def weigh_pads(meeting: Meeting, **more: Any) -> WeighIn:
    return meeting.weigh(pads={spot: mass(text) for spot, text in PADS.items()}, **more)


# What comes off before the race


def test_a_loose_piece_that_comes_off_leaves_a_car_to_be_weighed_again(meeting: Meeting) -> None:
    look(meeting, fixed=False)
    weigh_pads(meeting)
    assert state(meeting) is State.FAILS
    off(meeting)
    none(meeting)
    found = meeting.standing()
    assert found["minimum_weight"].outcome == "not_checked"
    assert found["minimum_weight"].sentence == AGAIN
    assert found["left_limit"].sentence == AGAIN
    assert found["ballast_fixed"].outcome == "meets"
    assert state(meeting) is State.NOT_CHECKED
    assert remedies(found.values(), Units.imperial()) == [
        f"Weigh it again: since it was weighed, {CAME_OFF}."
    ]
    weigh_pads(meeting)
    assert state(meeting) is State.MEETS


def test_a_car_that_failed_goes_on_failing_and_is_not_told_an_amount(meeting: Meeting) -> None:
    look(meeting)
    meeting.weigh("318.6")
    off(meeting)
    none(meeting)
    found = meeting.standing()["minimum_weight"]
    assert found.outcome == "fails"
    assert remedies([found], Units.imperial()) == [
        f"Weigh it again: since it was weighed, {CAME_OFF}."
    ]


def test_what_came_off_before_the_weighing_changes_nothing(meeting: Meeting) -> None:
    look(meeting, fixed=False)
    off(meeting)
    none(meeting)
    weigh_pads(meeting)
    assert state(meeting) is State.MEETS


def test_a_listed_piece_nobody_looked_at_may_have_been_on_it(meeting: Meeting) -> None:
    weigh_pads(meeting)
    off(meeting)
    assert meeting.standing()["minimum_weight"].sentence == AGAIN


def test_a_void_record_of_what_came_off_gives_it_back(meeting: Meeting) -> None:
    official = meeting.people.official
    look(meeting)
    weigh_pads(meeting)
    wrong = off(meeting)
    with viewing_as(official.pk):
        void_ballast_check(by=official, ballast_check=wrong, reason="It was car 31's")
    assert state(meeting) is State.MEETS


def test_voiding_it_does_not_make_a_loose_piece_vanish(meeting: Meeting) -> None:
    official = meeting.people.official
    look(meeting, fixed=False)
    record = off(meeting)
    none(meeting)
    with viewing_as(official.pk):
        void_ballast_check(by=official, ballast_check=record, reason="It is on the car")
    assert meeting.outcomes()["ballast_fixed"] == "fails"


def test_the_unchanged_car_only_is_weighed_again_with_the_tick(meeting: Meeting) -> None:
    look(meeting)
    meeting.weigh("321")
    off(meeting)
    with pytest.raises(Invalid) as refusal:
        meeting.weigh("317", again=True)
    assert refusal.value.field == "again"
    meeting.weigh("317")
    assert meeting.outcomes()["minimum_weight"] == "fails"


# What is put on or is another


def test_what_is_put_back_makes_it_another_car(meeting: Meeting) -> None:
    look(meeting)
    off(meeting)
    none(meeting)
    weigh_pads(meeting)
    look(meeting)
    assert PUT_ON in meeting.standing()["minimum_weight"].sentence


def test_a_piece_found_after_none_was_makes_it_another_car(people: People) -> None:
    meeting = make_meeting(people, FIXED)
    off(meeting)
    weigh_pads(meeting)
    none(meeting)
    assert state(meeting) is State.MEETS
    look(meeting, piece=None)
    assert PUT_ON in meeting.standing()["minimum_weight"].sentence


@pytest.mark.parametrize(
    ("said", "outcome"), [("on", "meets"), ("off", "not_checked"), ("", "not_checked")]
)
def test_a_piece_that_nobody_knew_of_is_asked_about(
    meeting: Meeting, said: str, outcome: str
) -> None:
    look(meeting)
    weigh_pads(meeting)
    look(meeting, piece=None, when_weighed=said)
    assert meeting.outcomes()["minimum_weight"] == outcome


def test_the_pieces_on_the_list_are_looked_at_after_the_weighing_as_ever(meeting: Meeting) -> None:
    weigh_pads(meeting)
    look(meeting)
    assert state(meeting) is State.MEETS
    look(meeting)
    assert state(meeting) is State.MEETS


def test_a_piece_in_place_of_another_makes_it_another_car(meeting: Meeting) -> None:
    look(meeting, weighed_mass=mass("12 lb"), marked_mass=None)
    weigh_pads(meeting)
    look(meeting)
    assert ANOTHER in meeting.standing()["minimum_weight"].sentence


def test_what_the_family_lists_or_takes_off_its_list_counts(meeting: Meeting) -> None:
    chief = meeting.people.chief
    look(meeting)
    weigh_pads(meeting)
    with viewing_as(chief.pk):
        move_ballast_piece(by=chief, piece=meeting.piece, car=None)
    with viewing_as(meeting.people.official.pk):
        meeting.weigh("322", driver_in=False)  # anything that finds again
    assert LISTED in meeting.standing()["minimum_weight"].sentence


# After the race


def test_a_weighing_after_the_race_stands_whatever_comes_off_later(meeting: Meeting) -> None:
    look(meeting)
    weigh_pads(meeting)
    weigh_pads(meeting, stage="after")
    off(meeting)
    none(meeting)
    assert state(meeting) is State.MEETS


def test_what_failed_after_the_race_fails_whatever_comes_off_later(
    client: Client, meeting: Meeting
) -> None:
    weigh_pads(meeting, stage="after")
    look(meeting, fixed=False)
    off(meeting)
    none(meeting)
    assert meeting.outcomes()["ballast_fixed"] == "fails"
    assert state(meeting) is State.FAILS
    client.force_login(meeting.people.chief)
    text = client.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert "It came off after the race: what was found of it stands." in text
    weigh_pads(meeting, stage="after")
    assert meeting.outcomes()["ballast_fixed"] == "fails"


def test_the_weighing_after_the_race_settles_what_came_off_before_it(meeting: Meeting) -> None:
    look(meeting)
    weigh_pads(meeting)
    off(meeting)
    none(meeting)
    assert state(meeting) is State.NOT_CHECKED
    weigh_pads(meeting, stage="after")
    assert state(meeting) is State.MEETS


# Once the event is over


def test_a_void_after_the_event_counts_the_pieces_as_before(meeting: Meeting) -> None:
    official, steward = meeting.people.official, meeting.people.steward
    another_piece(meeting)
    look(meeting)
    weigh_pads(meeting)
    wrong = meeting.weigh("400", driver_in=False)
    with viewing_as(steward.pk):
        end_event(by=steward, event=meeting.event)
    with viewing_as(official.pk):
        weigh_in = WeighIn.objects.select_related("entry__event").get(pk=wrong.pk)
        void_weigh_in(by=official, weigh_in=weigh_in, reason="Another car")
    found = meeting.standing()
    assert found["ballast_fixed"].sentence == "1 of 2 looked at."
    assert found["minimum_weight"].outcome == "meets"


# By the clocks


START = datetime(2026, 6, 6, 9, tzinfo=UTC)


def at(minutes: int, device: int | None = None, **fields: Any) -> dict[str, Any]:
    made = None if device is None else START + timedelta(minutes=device)
    return {"created_at": START + timedelta(minutes=minutes), "device_at": made, **fields}


def removed(piece: Any, minutes: int, device: int | None = None) -> BallastCheck:
    return BallastCheck(not_on_car=True, piece_id=piece, **at(minutes, device))


def weighed(minutes: int, device: int | None = None, **fields: Any) -> WeighIn:
    return WeighIn(**at(minutes, device, **{"stage": "entry", **fields}))


@pytest.mark.parametrize(
    ("came_off", "on_scales", "changed"),
    [
        ((10, None), (5, None), CAME_OFF),
        ((5, None), (10, None), ""),
        # Two devices without a connection: the weighing came in last, and was made first.
        ((10, None), (20, 0), CAME_OFF),
        # One device, sent in order.
        ((20, 5), (21, 10), ""),
        ((20, 10), (19, 5), CAME_OFF),
    ],
)
def test_only_what_is_earlier_by_both_clocks_is_before_the_weighing(
    came_off: tuple[int, int | None], on_scales: tuple[int, int | None], changed: str
) -> None:
    piece = new_id()
    weigh_in = weighed(*on_scales, listed=[str(piece)])
    assert changed_since(weigh_in, [removed(piece, *came_off)], [str(piece)]) == changed


LISTED_PIECES = [new_id() for _ in range(3)]
LIST = [str(piece) for piece in LISTED_PIECES]
STEP = st.tuples(st.sampled_from(["look", "off", "weigh"]), st.integers(0, 2))


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(STEP, max_size=12))
def test_changed_just_where_a_piece_came_off_or_on_since(steps: list[tuple[str, int]]) -> None:
    """Against a car kept by hand: a listed piece is on it, until it is recorded off."""
    on_it, changed = [True] * 3, False
    weigh_in = weighed(0, listed=LIST)
    checks: list[BallastCheck] = []
    for minute, (what, number) in enumerate(steps, start=1):
        if what == "weigh":
            weigh_in, changed = weighed(minute, listed=LIST), False
            continue
        now = what == "look"
        changed |= on_it[number] != now
        on_it[number] = now
        piece = LISTED_PIECES[number]
        checks.append(BallastCheck(not_on_car=not now, piece_id=piece, **at(minute)))
    assert bool(changed_since(weigh_in, checks, LIST)) == changed
    raced = weighed(100, stage="after", listed=LIST)
    later = [*checks, *(removed(piece, 101) for piece in LISTED_PIECES)]
    assert bool(changed_since(weigh_in, later, [], [weigh_in, raced])) == changed
    assert changed_since(raced, later, [], [weigh_in, raced]) == ""


# As a person sees it


def test_the_family_and_the_desk_read_weigh_again(client: Client, meeting: Meeting) -> None:
    look(meeting)
    weigh_pads(meeting)
    official = meeting.people.official
    client.force_login(official)
    form = {"row_id": str(new_id()), "piece": str(meeting.piece.pk), "reason": "Left in the pit"}
    assert client.post(f"/entries/{meeting.entry.pk}/not-on-car", form).status_code == 302
    client.post(f"/entries/{meeting.entry.pk}/no-ballast", {})
    for name in ("official", "chief"):
        client.force_login(getattr(meeting.people, name))
        page = client.get(f"/entries/{meeting.entry.pk}/").content.decode()
        assert AGAIN in page
        assert "Left in the pit" in page
        assert "<b>Meets:</b>" not in one_line(page)
    client.force_login(official)
    desk = one_line(client.get(f"/events/{meeting.event.pk}/desk").content.decode())
    assert f"not checked: w{AGAIN[1:].rstrip('.')}" in desk
    found = client.get(f"/api/v1/findings?entry={meeting.entry.pk}").json()["results"]
    assert AGAIN in [one["sentence"] for one in found]
