"""The demo's tables of suggestions: the club's of the starter, the coach's, one team's own."""

from typing import Any

from cars.runs.actions.suggestions import (
    FROM_STARTER,
    SuggestionGiven,
    add_suggestion,
    draft_suggestions,
    publish_suggestions,
)
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from teams.models import Club, Team


def publish_starter(by: User, club: Club) -> None:
    """What a steward who has no table yet does first."""
    note = "The starter as it is; we change what our own tracks teach us."
    table = draft_suggestions(by=by, club=club, begin=FROM_STARTER, note=note)
    publish_suggestions(by=by, table=table)


def publish_own(by: User, club: Club, rows: list[dict[str, Any]], team: Team | None = None) -> None:
    """A team's own table; without a team that of `by` as a coach."""
    coach = by if team is None else None
    table = draft_suggestions(by=by, club=club, team=team, coach=coach)
    for row in rows:
        add_suggestion(by=by, table=table, given=_given(row))
    publish_suggestions(by=by, table=table)


def _given(row: dict[str, Any]) -> SuggestionGiven:
    adjuster, spot, amount, unit = row["do"]
    rest = {name: value for name, value in row.items() if name != "do"}
    return SuggestionGiven(
        adjuster=adjuster, spot=spot, amount=parse(amount, Kind.TURNS).value, unit=unit, **rest
    )
