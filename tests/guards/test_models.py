"""Every table is closed by row security, or stands here with the reason why not."""

import re

import pytest
from django.apps import apps
from django.db import connection, models

from clubsetup.access.row_security import COMMANDS, RowSecurity, SameParent
from clubsetup.runtime.addresses import APP_ROLE

OPEN = {
    "access.User": "the role has no rights on the table; it is shown a view",
    "account.EmailAddress": "allauth's; closed by runtime/migrations",
    "account.EmailConfirmation": "allauth's and not used; closed by runtime/migrations",
    "mfa.Authenticator": "allauth's; closed by runtime/migrations",
    "sessions.Session": "the role has no rights on the table; functions take a session's whole key",
    "auth.Permission": "Django's list of model permissions; not used",
    "auth.Group": "Django's groups; not used",
    "contenttypes.ContentType": "Django's list of models",
    "cars.Step": "the order of work is the same for everybody; nobody but the owner may write it",
    "cars.Measure": "the catalogue is the same for everybody; nobody but the owner may write it",
}
MODELS = [m for m in apps.get_models(include_auto_created=True) if m._meta.managed]


def label(model: type[models.Model]) -> str:
    return f"{model._meta.app_label}.{model._meta.object_name}"


def security_of(model: type[models.Model]) -> RowSecurity | None:
    found = [c for c in model._meta.constraints if isinstance(c, RowSecurity)]
    assert len(found) <= 1
    return found[0] if found else None


@pytest.mark.parametrize("model", MODELS, ids=label)
def test_a_model_is_secured_or_listed_with_a_reason(model: type[models.Model]) -> None:
    parents = {"auth_group_permissions"}
    listed = label(model) in OPEN or model._meta.db_table in parents
    assert (security_of(model) is not None) != listed


def test_the_list_holds_no_stale_entry() -> None:
    assert set(OPEN) <= {label(m) for m in MODELS}


# What says whose a row is, who made it and when: it never changes.
NEVER = {"id", "created_at", "club_id", "team_id", "user_id", "asked_by_id", "by_id", "digest"}
# Of a car's own row these say which team has it; of a piece and a sheet, where it is now.
MOVES = {"cars.BallastPiece": {"car_id"}}


def changed_columns(table: str) -> set[str]:
    """The columns of the table that the app's role may update."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT attname FROM pg_attribute WHERE attrelid = %s::regclass AND attnum > 0 "
            "AND NOT attisdropped AND has_column_privilege(%s, attrelid, attnum, 'UPDATE')",
            [table, APP_ROLE],
        )
        return {row[0] for row in cursor.fetchall()}


@pytest.mark.parametrize("model", [m for m in MODELS if security_of(m)], ids=label)
def test_a_model_says_which_of_its_columns_may_change(model: type[models.Model]) -> None:
    security = security_of(model)
    assert security is not None
    columns = set(security.change_columns)
    assert bool(columns) == bool(security.conditions["change"]), (
        "change and change_columns go together"
    )
    assert columns <= {f.column for f in model._meta.concrete_fields}
    never = (NEVER | {"car_id"}) - MOVES.get(label(model), set())
    assert not columns & never


@pytest.mark.parametrize("model", [m for m in MODELS if security_of(m)], ids=label)
def test_the_database_agrees_with_the_model(model: type[models.Model], db: None) -> None:
    security = security_of(model)
    assert security is not None
    table = model._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT relrowsecurity, relforcerowsecurity FROM pg_class WHERE oid = %s::regclass",
            [f"public.{table}"],
        )
        assert cursor.fetchone() == (True, True)
        cursor.execute("SELECT policyname, cmd FROM pg_policies WHERE tablename = %s", [table])
        policies = dict(cursor.fetchall())
        for key, command in COMMANDS.items():
            named = bool(security.conditions[key])
            assert (policies.get(f"{security.name}_{key}") == command) == named
            if command == "UPDATE":
                assert changed_columns(f"public.{table}") == set(security.change_columns)
                cursor.execute(
                    "SELECT has_table_privilege(%s, %s, 'UPDATE')", [APP_ROLE, f"public.{table}"]
                )
                assert cursor.fetchone() == (False,), f"{table}: every column"
            cursor.execute(
                "SELECT has_any_column_privilege(%s, %s, %s)",
                [APP_ROLE, f"public.{table}", command],
            ) if (command != "DELETE") else cursor.execute(
                "SELECT has_table_privilege(%s, %s, %s)", [APP_ROLE, f"public.{table}", command]
            )
            assert cursor.fetchone() == (named,), f"{table}: {command}"


CLOSED = ("access_user", "django_session")


def test_the_role_has_no_rights_on_people_and_sessions(db: None) -> None:
    with connection.cursor() as cursor:
        for table in CLOSED:
            for command in COMMANDS.values():
                cursor.execute(
                    "SELECT has_table_privilege(%s, %s, %s)",
                    [APP_ROLE, f"public.{table}", command],
                )
                assert cursor.fetchone() == (False,), f"{table}: {command}"


def test_what_is_shown_of_people_has_every_column_in_its_place(db: None) -> None:
    """A new column of the table is put into the view by hand, shown or hidden."""
    with connection.cursor() as cursor:
        found = []
        for schema in ("public", "shown"):
            cursor.execute(
                "SELECT attname, atttypid, atttypmod FROM pg_attribute WHERE attnum > 0 "
                "AND NOT attisdropped AND attrelid = %s::regclass ORDER BY attname",
                [f"{schema}.access_user"],
            )
            found.append(cursor.fetchall())
    assert found[0] == found[1]


def test_whoever_asks_for_the_viewer_stays_with_the_leader(db: None) -> None:
    """A parallel worker is another process, to which nobody has signed anything."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT proname FROM pg_proc WHERE pronamespace = 'access'::regnamespace "
            "AND proparallel = 's' AND prokind = 'f' AND proname <> 'server_now'"
        )
        assert cursor.fetchall() == []


def test_policies_call_their_functions_once_a_statement(db: None) -> None:
    """A function of the schema `access` stands in a sub-select wherever a policy calls it."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT policyname, coalesce(qual, '') || coalesce(with_check, '') FROM pg_policies "
            "WHERE schemaname = 'public'"
        )
        for name, text in cursor.fetchall():
            bare = re.sub(r"\(\s*SELECT\s+access\.\w+\(\)\s+AS\s+\w+\)", "", text)
            bare = re.sub(r"FROM access\.\w+_invitations\(\)", "", bare)
            # Asks about the row itself, and only while one is added.
            bare = bare.replace("access.has_chief(team_id)", "")
            bare = re.sub(r"access\.may_write_line\([^()]*(\([^()]*\)[^()]*)*\)", "", bare)
            assert "access." not in bare, f"{name}: {bare}"


def test_nobody_but_the_owner_may_run_as_the_owner_with_a_free_search_path(db: None) -> None:
    """A function that runs as its owner fixes where it looks names up."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT proname FROM pg_proc "
            "WHERE pronamespace = 'access'::regnamespace AND prosecdef AND NOT coalesce("
            "array_to_string(proconfig, ',') LIKE '%%search_path=public, pg_temp%%', false)"
        )
        assert cursor.fetchall() == []


@pytest.mark.parametrize("model", [m for m in MODELS if security_of(m)], ids=label)
def test_what_happened_says_when_and_by_whom(model: type[models.Model]) -> None:
    """A pair x_at, x_by is filled together, or not at all, and the database says so."""
    names = {f.name for f in model._meta.get_fields()}
    stems = {n[:-3] for n in names if n.endswith("_at")} & {
        n[:-3] for n in names if n.endswith("_by")
    }
    checks = [
        str(c.condition) for c in model._meta.constraints if isinstance(c, models.CheckConstraint)
    ]
    for stem in stems:
        assert any(f"{stem}_at__isnull" in c and f"{stem}_by__isnull" in c for c in checks), stem


@pytest.mark.parametrize("model", [m for m in MODELS if security_of(m)], ids=label)
def test_a_copied_team_or_club_cannot_lie(model: type[models.Model]) -> None:
    """A table whose policies look at a copy of its parent's team or club ties it by a key."""

    roots = {
        "access.TrailLine": "no foreign key: it outlives what it tells of",
        "teams.ClubMember": "club is its own parent",
        "teams.Team": "club is its own parent",
        "teams.Driver": "team is its own parent",
        "teams.Track": "club is its own parent",
        "teams.RaceClass": "club is its own parent",
        "cars.Chassis": "club is its own parent",
        "cars.Car": "team is its own parent",
        "cars.Ownership": "keeps the team of its time while the car moves on",
        "cars.Import": "team is its own parent",
        "cars.ImportColumns": "team is its own parent",
        "cars.Advice": "keeps the team of its time; its policy asks for the car's",
        "cars.SchoolDay": "club is its own parent",
        "cars.Outing": "keeps the team of its time; its policy asks for the car's",
        "cars.Handover": "keeps the team that gave it; its policy asks for the car's",
        "cars.Sheet": "keeps the team of its time while the car moves on",
        "cars.CalibrationReset": "keeps the team of its time; its policy asks for the car's",
        "cars.OwnTarget": "keeps the team of its time; its policy asks for the car's",
        "cars.ImportedArchive": "team is its own parent",
        "cars.Part": "team is its own parent",
        "cars.Weather": "team is its own parent",
        "cars.BallastPiece": "team is its own parent; a piece may be on the shelf",
        "events.ScaleSet": "club is its own parent",
    }
    columns = {f.column for f in model._meta.fields}
    if not columns & {"team_id", "club_id"}:
        return
    held = any(isinstance(c, SameParent) for c in model._meta.constraints)
    assert held or label(model) in roots, "add a SameParent, or a reason here"
