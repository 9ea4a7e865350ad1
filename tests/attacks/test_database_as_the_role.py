"""Somebody has the service's own connection and writes SQL: what row security does not stop must
be stopped by grants, keys and triggers. Every statement here must fail, or do nothing.

DEVELOPERS.md lists what PostgreSQL cannot forbid a role.
"""

import json
import re
from collections.abc import Iterator
from typing import Any
from uuid import UUID

import psycopg
import pytest
from django.apps import apps
from django.db import connection, models
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine
from clubsetup.access.row_security import RowSecurity
from clubsetup.access.viewer import viewing_as
from clubsetup.runtime.addresses import APP_ROLE, app_url
from teams.models import Invitation
from tests.attacks.role import DONE, NOTHING, REFUSED, Attacker
from tests.guards.world import World, standing_world, undone, walk_in_entry
from tests.owner import as_owner, rows_as_owner

ATTACKER = Attacker()


def security_of(model: type[models.Model]) -> RowSecurity | None:
    return next((c for c in model._meta.constraints if isinstance(c, RowSecurity)), None)


SECURED = {m._meta.db_table: s for m in apps.get_models() if (s := security_of(m))}
# Nobody but the owner writes these at all.
READ_ALONE = ["cars_step", "cars_measure", "django_content_type", "django_migrations"]
CLOSED = ["auth_group", "auth_permission", "auth_group_permissions"]
# Nothing of the Wrens, and next to nothing of their club, is theirs.
OUTSIDE = ["rival", "other_official", "other_steward", "stranger", "nobody"]


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[World]:
    with django_db_blocker.unblock(), standing_world() as made:
        walk_in_entry(made)
        yield made


def ids(w: World) -> dict[str, UUID | None]:
    return {name: person.pk if person else None for name, person in w.who().items()}


def columns(table: str) -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT attname FROM pg_attribute "
            "WHERE attrelid = %s::regclass AND attnum > 0 AND NOT attisdropped",
            [table],
        )
        return [row[0] for row in cursor.fetchall()]


def failed(attacker: Attacker, before: int) -> list[str]:
    return attacker.succeeded[before:]


@pytest.mark.parametrize("table", [*SECURED, *READ_ALONE, *CLOSED])
def test_nobody_changes_a_column_that_the_service_never_changes(table: str, world: World) -> None:
    security, before = SECURED.get(table), len(ATTACKER.succeeded)
    changed = security.change_columns if security else ()
    never = sorted(set(columns(table)) - set(changed))
    statements = [f'UPDATE {table} SET "{column}" = "{column}"' for column in never]
    for who in ids(world).values():
        ATTACKER.all_must_be_refused(who, statements)
    assert not failed(ATTACKER, before)


@pytest.mark.parametrize("table", [*SECURED, *READ_ALONE, *CLOSED])
def test_nobody_removes_what_the_service_never_removes(table: str, world: World) -> None:
    security, before = SECURED.get(table), len(ATTACKER.succeeded)
    if security and security.conditions["remove"]:
        who_may_not, expected = OUTSIDE, NOTHING
    else:
        who_may_not, expected = list(world.who()), REFUSED
    people = world.people
    owners = {"team_id": people.team.pk, "club_id": people.club.pk, "user_id": people.chief.pk}
    of = next((c for c in owners if c in columns(table)), "")
    mine = owners.get(of)
    for name in who_may_not:
        sql, given = f"DELETE FROM {table}", []
        if expected == NOTHING:
            sql, given = f"{sql} WHERE {of} = %s", [mine]
        ATTACKER.must_fail(f"{name}: {sql}", ids(world)[name], sql, *given, as_=expected)
        # The table itself: under its name the role finds a view of cars.
        truncate = f"TRUNCATE public.{table}"
        ATTACKER.must_fail(f"{name}: {truncate}", ids(world)[name], truncate, as_=REFUSED)
    assert not failed(ATTACKER, before)


@pytest.mark.parametrize("table", SECURED)
def test_nobody_adds_a_row_to_a_team_or_club_that_is_not_theirs(table: str, world: World) -> None:
    """Whole rows as they stand, with an id of their own and in the attacker's own name."""
    before = len(ATTACKER.succeeded)
    mine = {"team_id": str(world.people.team.pk), "club_id": str(world.people.club.pk)}
    here = [c for c in mine if c in columns(table)]
    if not here:
        return
    rows = [r for r in rows_as_owner(table) if r[here[0]] == mine[here[0]]]
    if table == "access_trailline":
        rows = [r for r in rows_as_owner(table) if r["team_id"] == mine["team_id"]]
    for row in rows[:3]:
        for name in OUTSIDE:
            who = ids(world)[name]
            own = dict.fromkeys(
                ("by_id", "opened_by_id", "invited_by_id"), str(who) if who else None
            )
            again = {**row, **{c: v for c, v in own.items() if c in row}, "id": str(new_id())}
            sql = f"INSERT INTO {table} SELECT * FROM jsonb_populate_record(NULL::{table}, %s)"
            ATTACKER.must_fail(f"{name}: {sql}", who, sql, json.dumps(again), as_=REFUSED)
    assert not failed(ATTACKER, before)


@pytest.mark.parametrize("table", SECURED)
def test_nobody_from_outside_reads_a_teams_rows(table: str, world: World) -> None:
    before = len(ATTACKER.succeeded)
    if "team_id" not in columns(table):
        return
    for name in OUTSIDE:
        sql = f"SELECT count(*) FROM {table} WHERE team_id = %s"
        ATTACKER.must_fail(f"{name}: {sql}", ids(world)[name], sql, world.people.team.pk)
    assert not failed(ATTACKER, before)


# Statements in the name of one of the cast. %(...)s are the world's ids.
LINE = (
    "INSERT INTO access_trailline (id, created_at, by_id, did, on_kind, on_id, club_id, team_id, "
    "detail) VALUES (gen_random_uuid(), now(), access.viewer(), {did}, {kind}, {on}, {club}, "
    "{team}, '{{}}')"
)


def line(did: str, kind: str, on: str, club: str = "NULL", team: str = "%(team)s") -> str:
    return LINE.format(did=f"'{did}'", kind=f"'{kind}'", on=on, club=club, team=team)


NAMED: dict[str, tuple[list[str], str, str]] = {
    # An invitation that was used or withdrawn
    "take an accepted invitation up again": (
        ["chief", "steward"],
        "UPDATE teams_invitation SET accepted_at = NULL, accepted_by_id = NULL "
        "WHERE accepted_at IS NOT NULL",
        NOTHING,
    ),
    "bring a withdrawn invitation back": (
        ["chief", "steward"],
        "UPDATE teams_invitation SET withdrawn_at = NULL WHERE id = %(withdrawn_invitation)s",
        NOTHING,
    ),
    "take an invitation up for oneself without its link": (
        ["chief", "steward"],
        "UPDATE teams_invitation SET accepted_at = now(), accepted_by_id = access.viewer() "
        "WHERE id IN (%(invitation)s, %(club_invitation)s)",
        REFUSED,
    ),
    "take an invitation up for somebody else": (
        ["chief"],
        "UPDATE teams_invitation SET accepted_at = now(), accepted_by_id = %(stranger)s "
        "WHERE id = %(invitation)s",
        REFUSED,
    ),
    # Lines in a trail
    "write into a team's trail": (
        ["steward", "official", "unlinked", "rival", "other_steward", "stranger"],
        line("erased", "teams.driver", "%(driver)s"),
        REFUSED,
    ),
    "write 'read' oneself": (
        ["steward", "official", "rival", "stranger"],
        line("read", "teams.driver", "%(driver)s"),
        REFUSED,
    ),
    "write into a club's trail": (
        ["other_steward", "other_official", "stranger"],
        line("founded", "teams.club", "%(club)s", "%(club)s", "NULL"),
        REFUSED,
    ),
    "another word about a true entry": (
        ["official", "steward"],
        line("told_age", "events.entry", "%(entry)s", "%(club)s"),
        REFUSED,
    ),
    "a true word about an entry of another club": (
        ["other_official", "other_steward"],
        line("withdrew", "events.entry", "%(entry)s", "%(club)s"),
        REFUSED,
    ),
    "a true word about no row": (
        ["official", "steward"],
        line("withdrew", "events.entry", "gen_random_uuid()", "%(club)s"),
        REFUSED,
    ),
    "a word about another team's entry in this trail": (
        ["official"],
        line("withdrew", "events.entry", "%(rival_entry)s", "%(club)s"),
        REFUSED,
    ),
    "a print of nothing in this trail": (
        ["official", "steward"],
        line("asked_for", "printing.printjob", "%(job)s", "%(club)s"),
        REFUSED,
    ),
    "a line in another's name": (
        ["chief", "steward"],
        LINE.format(
            did="'gave'", kind="'x'", on="gen_random_uuid()", club="NULL", team="NULL"
        ).replace("access.viewer()", "%(stranger)s"),
        REFUSED,
    ),
    "say 'read' where one may not look in": (
        ["rival", "unlinked", "stranger", "nobody"],
        "SELECT access.note_read(%(team)s, 'teams.driver', %(driver)s)",
        NOTHING,
    ),
    "read the planner's samples": (
        ["stranger", "chief"],
        "SELECT count(*) FROM pg_stats WHERE schemaname = 'public' AND tablename ~ '^teams_driver'",
        NOTHING,
    ),
    # Stored prints
    "list stored prints": (
        ["crew", "steward", "official", "rival", "stranger"],
        "SELECT count(*) FROM printing_storedprint",
        NOTHING,
    ),
    "note a stored print": (
        ["chief", "stranger"],
        "INSERT INTO printing_storedprint (digest, bytes, pages, created_at) "
        "VALUES (repeat('a', 64), 1, 1, now())",
        REFUSED,
    ),
    "point a job at a known hash": (
        ["chief", "rival"],
        "UPDATE printing_printjob SET stored_id = %(digest)s, state = 'done'",
        REFUSED,
    ),
    "ask for a print that is done already": (
        ["rival", "stranger"],
        "INSERT INTO printing_printjob (id, created_at, document, subject_id, title, state, "
        "attempts, sent_at, stored_id, problem, asked_by_id) VALUES (gen_random_uuid(), now(), "
        "'x', %(team)s, 'x', 'done', 0, now(), %(digest)s, '', access.viewer())",
        REFUSED,
    ),
    "point a job at another subject": (
        ["chief", "rival"],
        "UPDATE printing_printjob SET subject_id = %(driver)s",
        REFUSED,
    ),
    "finish another's job": (
        ["rival", "stranger", "nobody"],
        "SELECT access.finish_print_job(%(job)s, %(lease)s, 'x'::bytea, 1, 1, now())",
        NOTHING,
    ),
    "find a print without what it was made from": (
        ["rival", "stranger", "nobody"],
        "SELECT count(*) FROM access.stored_print_of(convert_to(%(digest)s, 'UTF8'))",
        NOTHING,
    ),
}


@pytest.fixture(scope="module")
def known(world: World) -> dict[str, Any]:
    """The ids that an attacker would have found out."""
    p, w = world.people, world
    lease = new_id()
    with connection.cursor() as cursor, viewing_as(p.chief.pk):
        gone = Invitation.objects.get(pk=w.invitation.pk)
        gone.pk, gone.digest, gone.withdrawn_at = new_id(), "7" * 64, gone.created_at
        gone.save(force_insert=True)
        made = {"state": "working", "lease": lease, "leased_until": gone.created_at}
        type(w.job).objects.filter(pk=w.job.pk).update(**made)
        cursor.execute(
            "SELECT access.finish_print_job(%s, %s, 'all of it'::bytea, 9, 1, now())",
            [w.job.pk, lease],
        )
        job = type(w.job).objects.get(pk=w.job.pk)
        assert job.stored_id
    rows = {"team": p.team, "club": p.club, "driver": w.driver, "entry": w.meeting.entry}
    more = {"rival_entry": w.meeting.rival_entry, "job": job, "stranger": p.stranger}
    last = {"invitation": w.invitation, "club_invitation": w.club_invitation}
    found = {name: row.pk for name, row in {**rows, **more, **last}.items()}
    return {**found, "withdrawn_invitation": gone.pk, "digest": job.stored_id, "lease": lease}


@pytest.mark.parametrize("name", NAMED)
def test_it_comes_to_nothing(name: str, world: World, known: dict[str, Any]) -> None:
    people, sql, expected = NAMED[name]
    for who in people:
        with undone():
            came = ATTACKER.attempt(ids(world)[who], *mogrified(sql, known))
        assert came == expected, f"{who}: {name}: {came}"


def mogrified(sql: str, known: dict[str, Any]) -> tuple[str]:
    ops: Any = connection.ops
    with connection.cursor():
        return (ops.compose_sql(sql, known).replace("%", "%%"),)


# What a role might do to the server, whoever looks.
SERVER = [
    "CREATE TEMP TABLE mine (n int)",
    "CREATE TABLE public.mine (n int)",
    "CREATE TABLE access.mine (n int)",
    "CREATE SCHEMA mine",
    "CREATE ROLE mine",
    "CREATE FUNCTION access.mine() RETURNS int LANGUAGE sql RETURN 1",
    "CREATE FUNCTION public.mine() RETURNS int LANGUAGE sql RETURN 1",
    "CREATE OR REPLACE FUNCTION access.viewer() RETURNS uuid LANGUAGE sql RETURN gen_random_uuid()",
    "ALTER FUNCTION access.viewer() RENAME TO was",
    "DROP FUNCTION access.has_chief(uuid)",
    "CREATE VIEW public.mine AS SELECT 1",
    "CREATE TRIGGER mine BEFORE INSERT ON public.cars_car FOR EACH ROW "
    "EXECUTE FUNCTION access.refuse_closed()",
    "ALTER TABLE teams_driverbirth DISABLE ROW LEVEL SECURITY",
    "ALTER TABLE teams_driverbirth NO FORCE ROW LEVEL SECURITY",
    "ALTER TABLE cars_reading DISABLE TRIGGER ALL",
    "DROP POLICY driver_birth_read ON teams_driverbirth",
    "CREATE POLICY mine ON teams_driverbirth USING (true)",
    "DROP TABLE teams_driverbirth",
    "CREATE INDEX mine ON teams_driverbirth (birth_date)",
    "GRANT SELECT ON auth_group TO PUBLIC",
    f"GRANT clubsetup_owner TO {APP_ROLE}",
    "ALTER DEFAULT PRIVILEGES FOR ROLE clubsetup_owner GRANT ALL ON TABLES TO PUBLIC",
    "SET LOCAL ROLE clubsetup_owner",
    "SET LOCAL ROLE postgres",
    "SET LOCAL SESSION AUTHORIZATION postgres",
    "SET LOCAL session_replication_role = replica",
    "SET LOCAL track_activities = on",
    "SET LOCAL temp_file_limit = -1",
    f"ALTER ROLE {APP_ROLE} BYPASSRLS",
    f"ALTER ROLE {APP_ROLE} SUPERUSER",
    f"ALTER ROLE {APP_ROLE} CONNECTION LIMIT -1",
    "ALTER ROLE postgres PASSWORD 'x'",
    "ALTER ROLE clubsetup_owner PASSWORD 'x'",
    "SELECT count(*) FROM pg_authid",
    "SELECT count(*) FROM pg_shadow",
    "SELECT count(*) FROM pg_hba_file_rules",
    "SELECT count(*) FROM pg_stat_activity",
    "SELECT count(*) FROM pg_stat_get_activity(NULL)",
    "SELECT pg_stat_get_backend_activity(1)",
    "SELECT pg_read_file('postgresql.conf')",
    "SELECT pg_ls_dir('.')",
    "SELECT pg_reload_conf()",
    "SELECT pg_terminate_backend(pg_backend_pid())",
    "SELECT pg_cancel_backend(pg_backend_pid())",
    "SELECT pg_sleep(0)",
    "SELECT pg_advisory_lock(1)",
    "SELECT pg_advisory_lock_shared(1)",
    "SELECT pg_try_advisory_lock(1)",
    "SELECT pg_advisory_xact_lock(1, 1)",
    "SELECT pg_notify('x', 'y')",
    "SELECT lo_from_bytea(0, 'x'::bytea)",
    "SELECT lo_create(0)",
    "SELECT access.looks_in_on(gen_random_uuid())",
    "SELECT access.row_is_of(gen_random_uuid(), 'teams.driver', gen_random_uuid())",
    "COPY teams_driver TO '/tmp/drivers'",
    "COPY teams_driver TO PROGRAM 'cat'",
    "COPY teams_driver FROM PROGRAM 'true'",
    "CLUSTER teams_driver USING teams_driver_pkey",
    "CREATE EVENT TRIGGER mine ON ddl_command_start EXECUTE FUNCTION access.refuse_closed()",
    "CREATE PUBLICATION mine FOR ALL TABLES",
    "CREATE FOREIGN DATA WRAPPER mine",
    "CREATE LANGUAGE mine HANDLER plpgsql_call_handler",
]
# And what is not done within a transaction.
BY_ITSELF = [
    "CREATE DATABASE mine",
    "ALTER SYSTEM SET fsync = off",
    "REINDEX DATABASE tests",
    "ALTER DATABASE tests SET row_security = off",
    "DROP DATABASE postgres",
]


@pytest.mark.parametrize("sql", SERVER)
def test_the_role_has_no_such_power(sql: str, world: World) -> None:
    assert ATTACKER.attempt(world.people.chief.pk, sql) == REFUSED


@pytest.mark.parametrize("sql", BY_ITSELF)
def test_the_role_has_no_such_power_by_itself(sql: str, world: World) -> None:
    ATTACKER.tried()
    refused = pytest.raises(psycopg.errors.InsufficientPrivilege)
    with psycopg.connect(app_url(), autocommit=True) as other, refused:
        other.execute(sql)


def test_without_row_security_nothing_is_read(world: World) -> None:
    """A role may switch it off for itself; it then gets an error, and no rows."""
    with undone(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL row_security = off")
        came = ATTACKER.attempt(world.people.stranger.pk, "SELECT count(*) FROM teams_driverbirth")
    assert came == REFUSED


LOCKED = [*SECURED, *READ_ALONE, *CLOSED]


@pytest.mark.parametrize("table", LOCKED)
def test_only_a_table_one_may_delete_from_is_locked_whole(table: str, world: World) -> None:
    security = SECURED.get(table)
    may_remove = bool(security and security.conditions["remove"])
    sql = f"LOCK TABLE {table} IN ACCESS EXCLUSIVE MODE"
    came = ATTACKER.attempt(world.people.stranger.pk, sql)
    # The known residue: PostgreSQL lets whoever may delete rows lock the table.
    assert came == (DONE if may_remove else REFUSED)


def sees(world: World, sql: str, given: list[Any]) -> str:
    """What the chief of another team is told by that statement."""
    return ATTACKER.attempt(world.people.rival.pk, sql, *given)


INSERTED = "INSERT INTO {t} SELECT * FROM jsonb_populate_record(NULL::{t}, %s)"


def asked_of(table: str, world: World, who: str, **given: Any) -> str:
    """The answer to a row like one that stands there, with these columns."""
    row = rows_as_owner(table)[0]
    own = {"by_id": str(getattr(world.people, who).pk), "id": str(new_id())}
    again = {**row, **{c: v for c, v in own.items() if c in row}}
    again.update({name: str(value) if value else None for name, value in given.items()})
    person = getattr(world.people, who).pk
    return ATTACKER.attempt(person, INSERTED.format(t=table), json.dumps(again))


ON_SHEETS = [
    "cars_reading",
    "cars_change",
    "cars_plan",
    "cars_partfitted",
    "cars_sheettargetsource",
    "cars_trackchange",
    "cars_trackreading",
]


@pytest.mark.parametrize("table", ON_SHEETS)
@pytest.mark.parametrize("team", ["team", "rival_team"])
def test_a_sheet_of_others_does_not_say_whether_it_is_closed(
    table: str, team: str, world: World
) -> None:
    of = getattr(world.people, team).pk
    answers = {
        asked_of(table, world, "rival", sheet_id=sheet, team_id=of)
        for sheet in (world.sheet.pk, world.closed.pk, new_id())
    }
    assert len(answers) == 1
    assert answers <= {REFUSED, "23503", "23514"}
    assert team == "rival_team" or answers == {REFUSED}


@pytest.mark.parametrize("table", ["cars_sheet", "cars_ballastpiece", "cars_ownership"])
def test_a_car_does_not_say_whose_it_is(table: str, world: World) -> None:
    wrens, kestrels = world.people.team.pk, world.people.rival_team.pk
    own = {"opened_by_id": world.people.rival.pk} if table == "cars_sheet" else {}
    cars = (world.car.pk, world.meeting.rival_entry.car_id, new_id())
    told = {asked_of(table, world, "rival", car_id=car, team_id=wrens, **own) for car in cars}
    assert told == {REFUSED}
    others = {
        asked_of(table, world, "rival", car_id=car, team_id=kestrels, **own)
        for car in (world.car.pk, new_id())
    }
    assert others == {"23514"}


def test_an_entry_does_not_say_whose_a_car_is(world: World) -> None:
    wrens = {"team_id": world.people.team.pk, "confirmed_by_id": world.people.rival.pk}
    cars = (world.car.pk, world.meeting.rival_entry.car_id, new_id())
    told = {asked_of("events_entry", world, "rival", car_id=car, **wrens) for car in cars}
    assert told == {REFUSED}


def test_a_baseline_or_rules_of_another_club_do_not_say_their_state(world: World) -> None:
    other = world.people.other_club.pk
    for club in (world.people.club.pk, other):
        baselines = (world.baseline.pk, world.draft.pk, new_id())
        told = {
            asked_of("cars_baselinevalue", world, "other_steward", baseline_id=one, club_id=club)
            for one in baselines
        }
        rules = (world.rule_set.pk, world.rule_draft.pk, new_id())
        said = {
            asked_of("events_rule", world, "other_steward", rule_set_id=one, club_id=club)
            for one in rules
        }
        assert len(told) == len(said) == 1
        assert club == other or told == said == {REFUSED}


def test_an_entry_of_another_club_does_not_say_what_ballast_stands_on_it(world: World) -> None:
    """An official of Marl Heath says, under their own club, that the Wrens' car carries none."""
    none = {"none_on_car": "true", "not_on_car": None, "piece_id": None, "look_id": None}
    with undone():
        with viewing_as(world.people.official.pk):
            bare = walk_in_entry(world).pk
        told = set()
        for entry in (world.meeting.entry.pk, bare, new_id()):
            row = next(r for r in rows_as_owner("events_ballastcheck"))
            again = {**row, **none, "not_on_car": False, "none_on_car": True, "label": ""}
            again |= {"id": str(new_id()), "entry_id": str(entry), "reason": ""}
            again |= {"by_id": str(world.people.other_official.pk)}
            again |= {"club_id": str(world.people.other_club.pk), "when_weighed": ""}
            sql = INSERTED.format(t="events_ballastcheck")
            who = world.people.other_official.pk
            told.add(ATTACKER.attempt(who, sql, json.dumps(again)))
    assert len(told) == 1
    assert DONE not in told


GUESSED = [
    ("teams_driverbirth", "birth_date = '2016-02-03'", "birth_date = '1999-01-01'"),
    ("teams_driverbirth", "birth_date < '2016-02-03'", "birth_date < '1999-01-01'"),
    ("teams_driver", "display_name = 'Robin'", "display_name = 'Nobody'"),
    ("teams_driver", "display_name < 'Robin'", "display_name < 'A'"),
    ("teams_driverweight", "mass > 40", "mass > 400"),
]


@pytest.mark.parametrize(("table", "true", "false"), GUESSED)
def test_a_plan_does_not_tell_what_stands_in_rows_one_does_not_see(
    table: str, true: str, false: str, world: World
) -> None:
    with undone(), viewing_as(world.people.stranger.pk), connection.cursor() as cursor:
        as_owner(f"ANALYZE {table}")
        told = []
        for condition in (true, false):
            ATTACKER.tried()
            cursor.execute(f"EXPLAIN (FORMAT JSON) SELECT FROM {table} WHERE {condition}")
            told.append(re.findall(r"'Plan Rows': (\d+)", str(cursor.fetchone())))
    assert told[0] == told[1]
    assert told[0]


def test_what_one_may_do_is_still_done(world: World) -> None:
    """The same road leads somewhere for whoever may take it: the refusals above mean something."""
    p = world.people
    did = ATTACKER.attempt
    assert did(p.chief.pk, "UPDATE teams_driver SET display_name = 'X' || id::text") == DONE
    assert did(p.chief.pk, "UPDATE teams_invitation SET withdrawn_at = now()") == DONE
    own = line("renamed", "teams.driver", "gen_random_uuid()")
    for who, came in ((p.crew, DONE), (p.coach, DONE), (p.rival, REFUSED)):
        assert did(who.pk, *mogrified(own, {"team": p.team.pk})) == came
    true = line("withdrew", "events.entry", "%(entry)s", "%(club)s")
    given = {"team": p.team.pk, "club": p.club.pk, "entry": world.meeting.entry.pk}
    assert did(p.official.pk, *mogrified(true, given)) == DONE
    assert asked_of("cars_reading", world, "chief", sheet_id=world.closed.pk, take=7) == "23514"
    assert as_owner("UPDATE teams_driver SET display_name = display_name") >= 1
    assert TrailLine.objects.count() == 0  # nobody looks


def test_so_many_statements_were_tried_and_none_succeeded(request: pytest.FixtureRequest) -> None:
    """The run's last lines tell the figure; run alone this test has tried nothing."""
    assert ATTACKER.succeeded == []
    here = [item for item in request.session.items if item.path == request.path]
    if len(here) > len(SERVER) + len(NAMED) + len(SECURED):
        assert ATTACKER.statements > 8000
