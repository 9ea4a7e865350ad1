"""Every list that grows comes page by page, and refuses a page that it does not have in one way.

`GROWS` says of each table whether it gets longer with every evening, event and season. Statements
that read one of these are asked to stop after a page, or to read what belongs to one thing: the
readings of a sheet, the entries of an event. A table that stands nowhere fails.
"""

import re
from collections.abc import Iterator
from functools import partial

import pytest
from django.apps import apps
from django.db.models import Model
from django.test import Client

from tests.benchmarks.statements import Statement, statements_of
from tests.guards import test_api, test_urls
from tests.guards.world import World, undone
from tests.people import browser_of

# What gets longer for as long as a club is there, with the columns of which one value has only so
# many rows.
GROWS: dict[str, tuple[str, ...]] = {
    "access.TrailLine": (),
    "access.User": (),
    "printing.PrintJob": (),
    "teams.DriverWeight": (),
    "teams.Invitation": ("digest",),
    "teams.ClubMember": ("user_id",),
    "teams.Team": (),
    "cars.Part": (),
    "cars.Baseline": (),
    "cars.BaselineValue": ("baseline_id",),
    "cars.BallastPiece": ("car_id",),
    "cars.OwnTarget": (),
    "cars.Sheet": ("based_on_id", "corrects_id"),
    "cars.SheetTargetSource": ("sheet_id",),
    "cars.Reading": ("sheet_id",),
    "cars.Change": ("sheet_id",),
    "cars.Comment": ("sheet_id",),
    "cars.PartFitted": ("sheet_id",),
    "cars.PartStart": ("part_id",),
    "cars.PartLimit": ("part_id",),
    "cars.ClosedFigures": ("sheet_id",),
    "cars.Plan": ("sheet_id",),
    "cars.CalibrationReset": (),
    "cars.Comparison": (),
    "cars.ImportedArchive": (),
    "cars.Import": (),
    "cars.ImportColumns": (),
    "cars.Advice": (),
    "cars.AdviceReply": ("advice_id",),
    "cars.SchoolDay": (),
    "cars.Outing": ("school_day_id",),
    "cars.Handover": (),
    "cars.HandedSheet": ("sheet_id",),
    "cars.HandedRun": ("run_id",),
    "cars.Run": (),
    "cars.RunDetails": ("run_id",),
    "cars.Feel": ("run_id",),
    "cars.Laps": ("run_id",),
    "cars.RunReading": ("run_id",),
    "cars.RunPart": ("run_id",),
    "cars.TrackChange": ("sheet_id", "puts_back_id"),
    "cars.TrackReading": ("sheet_id",),
    "cars.Weather": (),
    "cars.SuggestionTable": (),
    "cars.Suggestion": ("table_id",),
    "events.RuleSet": (),
    "events.Rule": ("rule_set_id",),
    "events.Event": (),
    "events.EventClass": ("event_id",),
    "events.Entry": ("event_id", "event_class_id"),
    "events.EntryRun": ("run_id", "entry_id"),
    "events.AgeAnswer": ("entry_id",),
    "events.Draw": (),
    "events.ScaleCheck": (),
    "events.WeighIn": ("entry_id",),
    "events.BallastCheck": ("entry_id",),
    "events.BallastPhoto": ("entry_id", "ballast_check_id"),
    "events.TechReading": ("entry_id",),
    "events.Finding": ("entry_id", "weigh_in_id"),
    "events.Void": ("entry_id", "weigh_in_id", "ballast_check_id", "tech_reading_id"),
    "events.RecordChain": ("event_id",),
    "events.RecordLine": ("chain_id",),
}
# What does not, and why.
FEW: dict[str, str] = {
    "cars.Step": "the catalogue is written with the program",
    "cars.Measure": "the catalogue is written with the program",
    "access.SignIn": "a person's browsers: one that is not used signs out by itself",
    "access.ApiToken": "a person's tokens, ended when they are not used",
    "access.ResetCode": "looked for one by one, by whom it is for",
    "access.IdempotencyKey": "looked for one by one, by what was sent",
    "printing.StoredPrint": "looked for one by one, by its print",
    "teams.Club": "those that a person is in",
    "teams.TeamMember": "the people of one team, and the teams of one person",
    "teams.CoachLink": "the coaches that a team lets in, and the teams of one coach",
    "teams.Driver": "the drivers of one team",
    "teams.DriverBirth": "a driver's own",
    "teams.Track": "where one club races",
    "teams.RaceClass": "what one club races",
    "cars.Chassis": "the makes and models of one club",
    "cars.BallastMount": "the places on one chassis",
    "cars.Car": "what one team owns; a car that is sold goes",
    "cars.Ownership": "a car's owners, one after the other",
    "cars.PartCode": "a part's own",
    "events.ScaleSet": "what one club weighs with",
}
# What picks of those the ones that count now, of which there are only so many.
IN_USE = {
    "cars.Baseline": '"state" = ',  # in force: one for each chassis, surface and class
    "cars.BallastPiece": '"retired_at" IS NULL',
    "cars.SuggestionTable": '"state" = ',  # in force: a team's, its coaches', its club's
    "cars.OwnTarget": '"replaced_at" IS NULL',  # one for each box and surface
    "cars.PartLimit": '"replaced_at" IS NULL',  # one for each sort or part, and what is counted
    "teams.Invitation": '"accepted_at" IS NULL',  # these end in some days
}
# Statements that read more, by the function that asks, and why.
EXCEPTIONS: dict[str, str] = {
    "cars/bench/queries/open_benches.py benches_to_go_on_with": (
        "the open sheets of a team's cars, which are closed at the end of an evening"
    ),
    "cars/sheets/presenters/sheet_trail.py sheet_trail": (
        "what was done to one sheet, which is closed at the end of an evening"
    ),
    "cars/exchange/queries/import_rows.py _refuse_noted": (
        "the runs at the very times that a file names, which has 5000 rows at most"
    ),
    "cars/history/queries/car_history.py _own": (
        "the targets of one box or two of one car, each replaced when somebody thinks otherwise"
    ),
    "cars/runs/queries/runs.py numbered": "the runs of one car on one day",
    "events/queries/scales.py scale_states": "the newest check of each scale set",
}

# Lists of the pages, by the name that their address asks with.
LISTS = {
    "before": {
        *("my-trail", "prints", "club-people", "club-trail", "team-trail", "driver", "car-sheets"),
        *("car-runs", "advice-list", "car-advice", "driver-progress"),
        "school-days",
        *("handovers", "car-handed", "exports", "imports", "car-history", "back-to-track"),
        *("compare", "compare-choose", "car-compare"),
        *("parts", "ballast", "chassis-list", "chassis", "own-targets", "calibration", "events"),
        *("draws", "results", "class-rules", "scale-set"),
    },
    "older": {"did-it-help"},
    "tables": {"club-suggestions", "team-suggestions"},
    "own": {"club-suggestions"},
    "members": {"club"},
    "teams": {"club"},
}
NONSENSE = "x"
SENTENCE = "This list has no such page"
WHO = ("chief", "official", "steward")


@pytest.fixture(scope="module")
def clients(world: World) -> dict[str, Client]:
    people = {who: world.who()[who] for who in WHO}
    return {who: browser_of(person) for who, person in people.items() if person is not None}


def pages(world: World) -> Iterator[tuple[str, str, str]]:
    """Every page that is read: its name, its address, and each of three who may."""
    for name, (method, answers) in sorted(test_urls.ANSWERS.items()):
        if method != "post" and name not in test_urls.OLD:
            for who in WHO:
                if answers[who] == 200:
                    yield name, test_urls.path_of(name, world), who


def operations(world: World) -> Iterator[tuple[str, str, str]]:
    """Every operation of the API that is read, the same way."""
    for name, answers in sorted(test_api.ANSWERS.items()):
        if name.startswith("get "):
            for who in WHO:
                if answers[who] == 200:
                    yield name, test_api.path_of(name, world), who


def test_a_page_of_a_list_that_there_is_not_is_refused_in_one_way(
    world: World, clients: dict[str, Client]
) -> None:
    """Asked with all names at once; what refuses that is asked with each alone."""
    refused: dict[str, set[str]] = {asks: set() for asks in LISTS}
    for name, path, who in pages(world):
        for asks in LISTS if refuses(clients[who], name, path, *LISTS) else ():
            if refuses(clients[who], name, path, asks):
                refused[asks].add(name)
    assert refused == LISTS


def refuses(client: Client, name: str, path: str, *asks: str) -> bool:
    """Whether such a page is refused, and in the one sentence; else the page answers."""
    with undone():
        answer = client.get(path, dict.fromkeys(asks, NONSENSE))
    if answer.status_code == 400:
        assert SENTENCE in answer.content.decode(), name
        return True
    assert answer.status_code == 200, name
    return False


def asked_by_name(operation: str) -> set[str]:
    """What the address of an operation takes, as the schema says."""
    told = test_api.SCHEMA["paths"][test_api.BASE + operation.removeprefix("get ")]["get"]
    return {each["name"] for each in told.get("parameters", ())}


@pytest.mark.parametrize("asks", ["cursor", "before"])
def test_so_is_one_of_the_api(asks: str, world: World, clients: dict[str, Client]) -> None:
    refused, lists = set(), set()
    for name, path, who in operations(world):
        if asks in asked_by_name(name):
            lists.add(name)
        with undone():
            answer = clients[who].get(path, {asks: NONSENSE})
        if answer.status_code == 400 and SENTENCE in answer.content.decode():
            refused.add(name)
            assert answer.json()["errors"][0]["parameter"] == asks
    assert refused == lists != set()


def label(model: type[Model]) -> str:
    return model._meta.label


def test_every_table_is_said_to_grow_or_not() -> None:
    ours = {
        label(model)
        for name in ("access", "printing", "teams", "cars", "events")
        for model in apps.get_app_config(name).get_models()
    }
    assert GROWS.keys() | FEW.keys() == ours
    assert IN_USE.keys() <= GROWS.keys()
    assert not GROWS.keys() & FEW.keys()


def outermost(sql: str) -> str:
    """The statement without what stands in brackets."""
    while (shorter := re.sub(r"\([^()]*\)", "", sql)) != sql:
        sql = shorter
    return sql


def grows_without_end(statement: Statement) -> str:
    """The table of which it reads as many rows as there are, if it does."""
    names = {apps.get_model(name)._meta.db_table: name for name in GROWS}
    outer = outermost(statement.sql)
    table = re.search(r' FROM "(\w+)"', outer)
    if table is None or table[1] not in names or " LIMIT " in outer:
        return ""
    if re.match(r'SELECT (COUNT|MAX|MIN|SUM|EXISTS)|SELECT 1 AS|SELECT %s AS "a"', statement.sql):
        return ""
    name = names[table[1]]
    ends = [rf'"{column}"\)? (= |IN \()' for column in ("id", *GROWS[name])]
    if name in IN_USE:
        ends.append(re.escape(IN_USE[name]))
    if any(re.search(rf'"{table[1]}"\.{end}', statement.sql) for end in ends):
        return ""
    return table[1]


SHEETS = 'SELECT "cars_sheet"."id" FROM "cars_sheet" WHERE '
PIECES = 'SELECT "cars_ballastpiece"."id" FROM "cars_ballastpiece" WHERE '


@pytest.mark.parametrize(
    ("sql", "table"),
    [
        (f'{SHEETS}"cars_sheet"."car_id" = %s', "cars_sheet"),
        (f'{SHEETS}"cars_sheet"."car_id" = %s LIMIT 41', ""),
        (f'{SHEETS}"cars_sheet"."id" IN (%s, %s)', ""),
        (f'{SHEETS}"cars_sheet"."id" IN (SELECT 1 FROM "cars_reading" LIMIT 1)', ""),
        (f'{SHEETS}EXISTS(SELECT 1 AS "a" FROM "cars_reading" LIMIT 1)', "cars_sheet"),
        (f'{SHEETS}"cars_sheet"."based_on_id" = %s', ""),
        ('SELECT COUNT(*) AS "n" FROM "cars_sheet"', ""),
        (f'{PIECES}"cars_ballastpiece"."team_id" = %s', "cars_ballastpiece"),
        (f'{PIECES}"cars_ballastpiece"."retired_at" IS NULL', ""),
        ('SELECT "cars_step"."slug" FROM "cars_step"', ""),
    ],
)
def test_what_grows_without_end_is_told_by_its_statement(sql: str, table: str) -> None:
    assert grows_without_end(Statement(sql, ())) == table


def test_no_list_grows_without_end(world: World, clients: dict[str, Client]) -> None:
    """What is read whole is what one thing has; everything else stops after a page."""
    seen, found = 0, dict[str, str]()
    for name, path, who in [*pages(world), *operations(world)]:
        with undone():
            for each in statements_of(partial(clients[who].get, path)):
                seen += 1
                if table := grows_without_end(each):
                    told = f"{name} reads all of {table} in {each.asked_in}:\n{each.sql}"
                    found.setdefault(each.asked_in, told)
    assert seen > 1000
    new = [told for where, told in found.items() if where not in EXCEPTIONS]
    assert not new, f"{len(new)} lists\n\n" + "\n\n".join(new)
    stale = EXCEPTIONS.keys() - found
    assert not stale, "these exceptions are mended: " + ", ".join(sorted(stale))
