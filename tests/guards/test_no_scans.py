"""No statement of a page or list costs more for what other clubs keep, or walks a car's whole past.

Among thirty clubs, with a car of many seasons, every page and every list and row of the API is
asked as everybody who may, and each statement explained with counts, never with times: with full
scans, hashes and merges off, so that rows are found one by one and a scan remains only where no
index serves. Statements are told apart by their text and by who asks; of each the first is
explained.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from django.core.cache import cache
from django.test import Client
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.runtime.embedded import Embedded
from tests.benchmarks.statements import (
    LARGE,
    MOST_THROWN_AWAY,
    ONE_BY_ONE,
    Cost,
    Statement,
    cost_with_policies,
    statements_of,
)
from tests.guards import test_api, test_urls
from tests.guards.many_clubs import FEW, MANY, ManyClubs, many_clubs
from tests.guards.world import undone
from tests.migrated import point_connections_at

# What more pages may be read among thirty clubs than among ten: a tenth and these, and one for each
# search, whose index may be a level deeper. In a function of the database searches are not told;
# there it is a third, as where each search reads a row through three pages of an index, not two.
MORE, MORE_IN_A_FUNCTION, PAGES = 1.1, 4 / 3, 8

# What fails and why it may, by the function that asks. The planner takes a team's rows to be few,
# because it cannot see how many teams a policy's function answers with: where it could walk down an
# index to the first row, it fetches all of the one car or team and sorts them. What that costs
# grows with their own past alone.
SORTED = "sorts what one car or team has, for the planner takes it to be little"
EXCEPTIONS: dict[str, str] = {
    "cars/bench/queries/past_figures.py last_sheets": SORTED,
    "teams/presenters/trail.py _page": SORTED,
    "cars/plans/queries/targets.py _others": SORTED,
    "cars/sheets/queries/targets.py _sheets_of": SORTED,
    "cars/bench/queries/past_figures.py replaced_last": (
        "looks at all readings of one sheet, some seventy, for those that were replaced"
    ),
    "cars/baselines/queries/fleet_spread.py what_teams_run": (
        "reads what each car of the club reads now, in one function; it grows with the club's own"
    ),
    "cars/sheets/queries/closed_figures.py _changes": (
        "of a board: the teams' sheets are looked through for the newest of each of their cars"
    ),
}


@dataclass(frozen=True)
class Asked:
    """A statement, and where and by whom it was met first."""

    page: str
    who: str
    statement: Statement


@dataclass(frozen=True)
class Measured:
    """What it costs among few clubs and among many."""

    asked: Asked
    few: Cost
    many: Cost

    def problems(self) -> Iterator[str]:
        """What is wrong with it, in words."""
        if scanned := self.many.tables_scanned & LARGE:
            yield f"reads the whole of {', '.join(sorted(scanned))}"
        if self.many.removed > MOST_THROWN_AWAY * max(self.many.returned, 1):
            yield f"throws away {self.many.removed} rows for {self.many.returned:.0f}"
        if self.many.pages > self.most_pages():
            yield f"reads {self.many.pages} pages, and {self.few.pages} among {FEW} clubs"

    def most_pages(self) -> float:
        """That it may read among many."""
        if self.many.is_function:
            return MORE_IN_A_FUNCTION * self.few.pages + PAGES
        return MORE * self.few.pages + PAGES + self.many.searches

    def told(self, problem: str) -> str:
        """With the statement and its page, and how both answer it."""
        asked, few = self.asked, self.few
        return (
            f"{asked.page}, asked by {asked.who} in {asked.statement.asked_in}: {problem}\n"
            f"{asked.statement.sql}\n{asked.statement.values}\n{self.many.plan}\n"
            f"{self.many.searches} searches; among {FEW} clubs {few.searches}:\n{few.plan}"
        )


def to_ask(clubs: ManyClubs) -> Iterator[tuple[str, str, str]]:
    """Every page and operation that is only read: its name, its address, and who may."""
    for name, (method, answers) in sorted(test_urls.ANSWERS.items()):
        if method != "post" and name not in test_urls.OLD:
            for who in clubs.browsers:
                if answers[who] < 400:
                    yield name, test_urls.path_of(name, clubs.world), who
    for name, codes in sorted(test_api.ANSWERS.items()):
        if name.startswith("get "):
            for who in clubs.browsers:
                if codes[who] < 400:
                    yield name, test_api.path_of(name, clubs.world), who


def get(browser: Client, path: str) -> Callable[[], None]:
    """A visit, to the last byte."""

    def visit() -> None:
        cache.clear()
        answer = browser.get(path)
        assert answer.status_code < 400, path
        answer.getvalue()

    return visit


def statements(clubs: ManyClubs) -> list[Asked]:
    """What everybody asks, each once."""
    found: dict[tuple[str, str], Asked] = {}
    with undone():
        for name, path, who in list(to_ask(clubs)):
            with undone():
                for one in statements_of(get(clubs.browsers[who], path)):
                    found.setdefault((one.sql, who), Asked(name, who, one))
    return list(found.values())


def costs(clubs: ManyClubs, number: int, asked: list[Asked]) -> list[Cost]:
    """Among so many clubs."""
    clubs.turn_to(number)
    return [
        cost_with_policies(one.statement, clubs.who[one.who].pk, off=ONE_BY_ONE) for one in asked
    ]


@pytest.fixture(scope="module")
def clubs(
    django_db_setup: None, embedded: Embedded, django_db_blocker: DjangoDbBlocker
) -> Iterator[ManyClubs]:
    """The databases; the connections lead to the one of many clubs."""
    with django_db_blocker.unblock(), many_clubs() as made:
        try:
            yield made
        finally:
            point_connections_at(embedded.url("tests"))


@pytest.fixture(scope="module")
def measured(clubs: ManyClubs) -> list[Measured]:
    """Every statement with its costs."""
    asked = statements(clubs)
    few, many = costs(clubs, FEW, asked), costs(clubs, MANY, asked)
    return [Measured(*each) for each in zip(asked, few, many, strict=True)]


def test_much_is_asked(measured: list[Measured]) -> None:
    """So that the guard does not fall asleep: from all apps, as everybody."""
    asked = [one.asked for one in measured]
    assert len({one.statement.sql for one in asked}) > 300
    assert {one.who for one in asked} == {
        *("chief", "crew", "guest", "coach", "official", "steward", "stranger"),
    }
    apps = {one.statement.asked_in.partition("/")[0] for one in asked}
    assert {"clubsetup", "teams", "cars", "events"} <= apps


def test_nothing_is_walked_for_a_few_rows(measured: list[Measured]) -> None:
    found: dict[str, list[str]] = {}
    for one in measured:
        for problem in one.problems():
            found.setdefault(one.asked.statement.asked_in, []).append(one.told(problem))
    new = [told for where, each in found.items() if where not in EXCEPTIONS for told in each]
    assert not new, f"{len(new)} statements\n\n" + "\n\n".join(new)
    stale = EXCEPTIONS.keys() - found
    assert not stale, "these exceptions are mended: " + ", ".join(sorted(stale))
