"""Tables of suggestions: drafts and versions, who comes first, and the starter's rows."""

from collections import defaultdict
from dataclasses import replace
from decimal import Decimal
from itertools import combinations
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cars.catalogue.adjusters import ADJUSTERS
from cars.models import Suggestion, SuggestionTable
from cars.runs.actions.runs import FeelSaid, RunFacts, note_feel, note_run
from cars.runs.actions.suggestions import (
    FROM_PUBLISHED,
    FROM_STARTER,
    SuggestionGiven,
    add_suggestion,
    change_suggestion,
    draft_suggestions,
    publish_suggestions,
    remove_suggestion,
    retire_suggestions,
)
from cars.runs.presenters.suggestions import change_words, felt_words
from cars.runs.queries.runs import noted, run_or_none
from cars.runs.queries.starter_suggestions import starter_suggestions
from cars.runs.queries.suggestions import Felt, feel_of, suggestions_for
from cars.sheets.actions.changes import checked_amount
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.units import Units
from teams.actions.clubs import remove_club_member
from teams.actions.teams import link_coach
from teams.models import ClubMember
from teams.queries.roles import forget_roles
from tests.cars.garage import Garage
from tests.guards.world import TIGHTER
from tests.people import People

LOOSE = Felt(entry="turns", exit="loose", surface="paved")


def drafted(by: User, people: People, *rows: SuggestionGiven, **whose: Any) -> SuggestionTable:
    with viewing_as(by.pk):
        table = draft_suggestions(by=by, club=people.club, **whose)
        for row in rows:
            add_suggestion(by=by, table=table, given=row)
        return table


def published(by: User, people: People, *rows: SuggestionGiven, **whose: Any) -> SuggestionTable:
    table = drafted(by, people, *rows, note="Other rows.", **whose)
    with viewing_as(by.pk):
        return publish_suggestions(by=by, table=table)


def offered(by: User, garage: Garage, felt: Felt = LOOSE) -> list[tuple[str, str]]:
    """Why each is offered, and of which state its table is."""
    forget_roles(by)
    with viewing_as(by.pk):
        return [(row.why, row.table.state) for row in suggestions_for(garage.car, felt, by)]


def why(row: SuggestionGiven, words: str, **other: Any) -> SuggestionGiven:
    return replace(row, why=words, **other)


def test_a_version_follows_the_one_in_force(people: People) -> None:
    by = people.steward
    first = published(by, people, TIGHTER)
    with viewing_as(by.pk):
        second = draft_suggestions(by=by, club=people.club, begin=FROM_PUBLISHED)
        (row,) = second.suggestions.all()
        assert (first.version, second.version, row.adjuster) == (1, 2, "spring-seat")
        change_suggestion(by=by, suggestion=row, given=why(TIGHTER, "Cross.", minutes=4))
        with pytest.raises(Invalid) as refusal:
            publish_suggestions(by=by, table=second)
        assert refusal.value.field == "note"
        publish_suggestions(by=by, table=second, note="It takes four minutes.")
        states = SuggestionTable.objects.order_by("version").values_list("state", flat=True)
        assert list(states) == ["retired", "published"]
        assert first.suggestions.get().minutes == 3
        retire_suggestions(by=by, table=second)
        assert not SuggestionTable.objects.filter(state="published").exists()
        done = TrailLine.objects.filter(club_id=people.club.pk, team_id=None, on_id=second.pk)
        assert set(done.values_list("did", flat=True)) == {
            *("drafted", "changed_suggestion", "published", "retired"),
        }


def test_what_is_published_stays_as_it_is(people: People) -> None:
    by = people.chief
    table = published(by, people, TIGHTER, team=people.team)
    with viewing_as(by.pk):
        row = table.suggestions.get()
        for attempt in (
            lambda: add_suggestion(by=by, table=table, given=replace(TIGHTER, spot="LR")),
            lambda: change_suggestion(by=by, suggestion=row, given=TIGHTER),
            lambda: remove_suggestion(by=by, suggestion=row),
            lambda: publish_suggestions(by=by, table=table),
        ):
            with pytest.raises(WrongState, match="published and stays as it is"):
                attempt()
        # The policy holds it too, past every action.
        assert Suggestion.objects.filter(pk=row.pk).update(why="Other.") == 0
        assert Suggestion.objects.filter(pk=row.pk)._raw_delete("default") == 0
        empty = draft_suggestions(by=by, club=people.club, team=people.team)
        with pytest.raises(WrongState, match="no suggestion yet"):
            publish_suggestions(by=by, table=empty)
        with pytest.raises(WrongState, match="in force"):
            retire_suggestions(by=by, table=empty)


def test_there_is_nothing_to_copy_before_one_is_published(people: People) -> None:
    with viewing_as(people.steward.pk):
        for begin in (FROM_PUBLISHED, "yesterday"):
            with pytest.raises(Invalid) as refusal:
                draft_suggestions(by=people.steward, club=people.club, begin=begin)
            assert refusal.value.field == "begin"


@pytest.mark.parametrize(
    ("other", "field"),
    [
        ({"adjuster": "warp-drive"}, "adjuster"),
        ({"adjuster": "kingpin-block"}, "adjuster"),
        ({"spot": "front"}, "spot"),
        ({"unit": "psi"}, "unit"),
        ({"amount": Decimal(0)}, "amount"),
        ({"amount": Decimal(400)}, "amount"),
        ({"balance": "wobbly"}, "balance"),
        ({"balance": ""}, "balance"),
        ({"balance": "", "hands": "left", "place": "exit"}, "hands"),
        ({"balance": "", "hands": "right", "place": "exit"}, "balance"),
        ({"place": "straight"}, "place"),
        ({"surface": "snow"}, "surface"),
        ({"surface_state": "snow"}, "surface_state"),
        ({"steering": "gone"}, "steering"),
        ({"why": " "}, "why"),
        ({"why": "x" * 301}, "why"),
        ({"caution": "x" * 301}, "caution"),
        ({"source_note": "x" * 121}, "source_note"),
        ({"minutes": 0}, "minutes"),
        ({"minutes": 481}, "minutes"),
        ({"source": ""}, "source"),
        ({"amount": Decimal("0.25")}, "adjuster"),  # the same feel and spot twice
    ],
)
def test_what_is_no_suggestion_is_refused_by_its_field(
    people: People, other: dict[str, Any], field: str
) -> None:
    table = drafted(people.coach, people, TIGHTER, coach=people.coach)
    with viewing_as(people.coach.pk):
        with pytest.raises(Invalid) as refusal:
            add_suggestion(by=people.coach, table=table, given=replace(TIGHTER, **other))
        assert refusal.value.field == field
        assert table.suggestions.count() == 1


def test_who_may_not_keep_it_is_refused(people: People) -> None:
    club, team = people.club, people.team
    for by, whose in (
        (people.chief, {}),
        (people.official, {}),
        (people.coach, {"team": team}),
        (people.guest, {"team": team}),
        (people.steward, {"team": team}),
        (people.steward, {"coach": people.coach}),
        (people.chief, {"coach": people.chief}),
    ):
        with viewing_as(by.pk), pytest.raises(NotAllowed):
            draft_suggestions(by=by, club=club, **whose)


def test_the_teams_own_comes_first_then_the_coachs_then_the_clubs(
    people: People, garage: Garage
) -> None:
    exit_ = replace(TIGHTER, place="exit", spot="LR")
    published(people.steward, people, why(TIGHTER, "club"), why(exit_, "club at exit"))
    published(people.coach, people, why(TIGHTER, "coach"), coach=people.coach)
    published(people.unlinked_coach, people, why(TIGHTER, "other"), coach=people.unlinked_coach)
    expected = [("coach", "published"), ("club at exit", "published")]
    for by in (people.chief, people.guest, people.coach):
        assert offered(by, garage) == expected
    drafted(people.chief, people, why(TIGHTER, "draft"), team=people.team)
    assert offered(people.chief, garage) == expected
    own = why(TIGHTER, "own", spot="LF"), why(exit_, "own at exit")
    published(people.chief, people, *own, team=people.team)
    assert [each for each, _ in offered(people.crew, garage)] == ["own", "own at exit", "coach"]
    # A coach of two more: both stand, for neither is above the other.
    with viewing_as(people.chief.pk):
        link_coach(by=people.chief, team=people.team, coach=people.unlinked_coach)
    words = [each for each, _ in offered(people.chief, garage)]
    assert (words[:2], set(words[2:])) == (["own", "own at exit"], {"coach", "other"})
    for by in (people.rival, people.steward, people.official, people.stranger):
        assert offered(by, garage) == []


def test_a_coach_whom_the_club_let_go_suggests_nothing(people: People, garage: Garage) -> None:
    published(people.coach, people, TIGHTER, coach=people.coach)
    assert len(offered(people.chief, garage)) == 1
    with viewing_as(people.steward.pk):
        member = ClubMember.objects.get(user=people.coach)
        remove_club_member(by=people.steward, member=member)
    assert offered(people.chief, garage) == []
    with viewing_as(people.coach.pk):
        forget_roles(people.coach)
        assert SuggestionTable.objects.count() == 1  # what they wrote they read
        with pytest.raises(NotAllowed, match="Only a coach"):
            draft_suggestions(by=people.coach, club=people.club, coach=people.coach)


@pytest.mark.parametrize(
    ("row", "felt", "fits"),
    [
        ({}, Felt(middle="loose"), True),
        ({}, Felt(middle="pushes", exit="turns"), False),
        ({}, Felt(), False),
        ({"place": "entry"}, Felt(entry="loose", exit="pushes"), True),
        ({"place": "entry"}, Felt(exit="loose"), False),
        ({"surface": "dirt"}, Felt(exit="loose", surface="dirt"), True),
        ({"surface": "dirt"}, Felt(exit="loose", surface="paved"), False),
        ({"surface": "dirt"}, Felt(exit="loose"), False),
        ({"surface_state": "hot"}, Felt(exit="loose", surface_state="hot"), True),
        ({"surface_state": "hot"}, Felt(exit="loose", surface_state="cold"), False),
        ({"hands": "right", "steering": "light"}, Felt(exit="loose", hands="right"), False),
        (
            {"hands": "right", "steering": "light"},
            Felt(exit="loose", hands="right", steering="light"),
            True,
        ),
        ({"balance": "", "hands": "right"}, Felt(hands="right"), True),
        ({"balance": "", "steering": "heavy"}, Felt(entry="loose", steering="good"), False),
    ],
)
def test_all_that_a_row_names_must_be_felt(
    people: People, garage: Garage, row: dict[str, Any], felt: Felt, fits: bool
) -> None:
    published(people.chief, people, replace(TIGHTER, **row), team=people.team)
    assert len(offered(people.chief, garage, felt)) == fits


def test_it_takes_two_queries_for_one_row_as_for_three(people: People, garage: Garage) -> None:
    corners = [replace(TIGHTER, spot=spot) for spot in ("LF", "LR", "RR")]
    for rows, number in ((corners[:1], 1), (corners, 3)):
        for by, whose in (
            (people.steward, {}),
            (people.coach, {"coach": people.coach}),
            (people.chief, {"team": people.team}),
        ):
            published(by, people, *rows, **whose)
        with viewing_as(people.chief.pk), CaptureQueriesContext(connection) as seen:
            assert len(suggestions_for(garage.car, LOOSE, people.chief)) == number
        assert len(seen) == 2


def test_feel_is_the_drivers_and_what_they_did_not_say_the_handlers(
    people: People, garage: Garage
) -> None:
    by = people.chief
    with viewing_as(by.pk):
        said = FeelSaid(entry="loose", hands="right")
        facts = RunFacts(surface="dirt", surface_state="tacky")
        run = note_run(by=by, car=garage.car, facts=facts, said=said)
        saw = FeelSaid(entry="pushes", exit="turns")
        note_feel(by=by, run=run, said_by="handler", feel=saw, expected=None)
        found = run_or_none(run.pk)
        assert found is not None
        assert feel_of(noted(found)) == Felt(
            entry="loose", exit="turns", hands="right", surface="dirt", surface_state="tacky"
        )


# The starter.

STARTER = starter_suggestions()
ROW_FELT = ("place", "balance", "hands", "steering", "surface", "surface_state")


def _overlap(one: Suggestion, other: Suggestion) -> bool:
    """They are for the same feel, where one may say less of the place and the track."""
    pairs = {name: (getattr(one, name), getattr(other, name)) for name in ROW_FELT}
    said = ("balance", "hands", "steering")
    return all(a == b or (name not in said and "" in (a, b)) for name, (a, b) in pairs.items())


@pytest.mark.parametrize("row", STARTER, ids=lambda row: f"{felt_words(row)}: {row}")
def test_a_row_of_the_starter_is_one_that_anybody_may_write(row: Suggestion) -> None:
    adjuster = ADJUSTERS[row.adjuster]
    assert row.spot in adjuster.spots
    assert row.unit in adjuster.units
    assert checked_amount(row.adjuster, row.spot, row.amount, row.unit) == row.amount
    assert row.source == Suggestion.Source.COMMON_PRACTICE
    row.full_clean(exclude=["table", "club"], validate_unique=False, validate_constraints=False)
    assert row.balance or row.hands or row.steering
    assert row.why.endswith(".")
    assert row.why.count(".") == 1
    assert row.caution
    words = change_words(row, Units.imperial())
    assert (adjuster.more if row.amount > 0 else adjuster.less).lower() in words


def test_no_two_rows_of_the_starter_turn_the_same_thing_both_ways() -> None:
    for one, other in combinations(STARTER, 2):
        same = (one.adjuster, one.spot) == (other.adjuster, other.spot)
        if same and _overlap(one, other):
            assert one.amount * other.amount > 0, (felt_words(one), felt_words(other), str(one))


def test_pushes_and_loose_are_answered_the_opposite_way() -> None:
    """By whatever answers both at one place; so that no sign is slipped."""
    answers: dict[tuple[str, ...], dict[str, Decimal]] = defaultdict(dict)
    for row in STARTER:
        if row.balance and not row.surface_state:
            key = (row.place, row.surface, row.adjuster, row.spot)
            answers[key][row.balance] = row.amount
    both = [each for each in answers.values() if len(each) == 2]
    assert len(both) >= 10
    assert all(each["pushes"] * each["loose"] < 0 for each in both)


def test_the_starter_covers_what_is_felt_on_both_surfaces() -> None:
    for surface in ("paved", "dirt"):
        rows = [row for row in STARTER if row.surface in ("", surface)]
        assert len(rows) >= 25
        for place in ("entry", "middle", "exit"):
            for balance in ("pushes", "loose"):
                assert any((row.place, row.balance) == (place, balance) for row in rows)
        assert {row.hands for row in rows} == {"", "right", "bit-left", "far-left"}
        assert {row.steering for row in rows} == {"", "light", "heavy"}


@pytest.mark.parametrize("surface", ["paved", "dirt"])
@pytest.mark.parametrize("place", ["entry", "exit"])
@pytest.mark.parametrize("balance", ["pushes", "loose"])
def test_something_acts_at_entry_alone_and_something_at_exit(
    place: str, balance: str, surface: str
) -> None:
    elsewhere = {(r.adjuster, r.spot) for r in STARTER if r.balance and r.place != place}
    alone = [
        row
        for row in STARTER
        if (row.place, row.balance) == (place, balance)
        and row.surface in ("", surface)
        and (row.adjuster, row.spot) not in elsewhere
    ]
    assert alone


# Which way each thing frees a car that is turned left (plus: down on the spring, longer, more, out,
# up, forward, to the right), by the mechanics; the sums of cross stand in tests/mechanics.
# Common practice, no source.
FREES = {
    ("spring-seat", "RF"): -1,  # cross = (RF + LR) / total
    ("spring-seat", "LR"): -1,
    ("lead", "rear"): 1,  # the axle steers outwards: cars/mechanics/turning.py
    ("stagger", "rear"): 1,  # the axle rolls a tighter circle
    ("rear-rod-hole", "rear"): 1,  # roll moves the right end back and the left one forward
    ("pressure", "RF"): -1,  # higher: more cross
    ("pressure", "LR"): -1,  # higher: more cross, less stagger
    ("pressure", "RR"): 1,  # higher: less cross, more stagger
    ("damper", "RF"): -1,  # less of the load going over at the front
    ("damper", "LR"): -1,
    ("spring", "RF"): -1,
    ("spring", "RR"): 1,
    ("spring", "LR"): -1,  # under power
    ("toe", "front"): 1,
    ("camber", "right"): -1,
    ("camber", "left"): 1,
    ("caster", "left"): 1,
    ("side-to-side", "front"): 1,
    ("wheel-spacer", "RF"): 1,
    ("wheel-spacer", "RR"): -1,
}


def test_every_row_of_the_starter_turns_the_way_that_the_mechanics_say() -> None:
    unsaid = set()
    for row in STARTER:
        way = FREES.get((row.adjuster, row.spot))
        if row.balance and way is not None:
            frees = row.amount * way > 0
            assert frees == (row.balance == "pushes"), (felt_words(row), str(row))
        elif row.balance:
            unsaid.add(row.adjuster)
    # Which way weight is moved hangs on where the car is in the corner.
    assert unsaid == {"ballast-forward", "ballast-height"}


def test_a_draft_begins_with_the_starter(people: People) -> None:
    by = people.steward
    with viewing_as(by.pk):
        table = draft_suggestions(by=by, club=people.club, begin=FROM_STARTER)
        kept = [str(row) for row in table.suggestions.all()]
        assert [row.split()[0] for row in kept] == [row.adjuster for row in STARTER]
        publish_suggestions(by=by, table=table)
