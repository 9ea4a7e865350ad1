"""Row-level security as a model's constraint.

A model that holds a club's or a team's rows names, in Meta.constraints, who may read, add, change
and remove its rows. The migration then enables and forces row-level security on the table, writes
one policy per command and grants the app's role exactly those commands. A command that is not
named is neither granted nor allowed by any policy, and of a row that may be changed only the
columns that are named: what says whose it is, who made it and when never changes.

Who a person is to a team or a club is answered by stable SQL functions in the schema `access`
(teams/migrations). They are called in a sub-select so that PostgreSQL runs them once a statement,
not once a row, and return an array so that the comparison can use an index.
"""

from collections.abc import Sequence
from typing import Any

from django.db.models import BaseConstraint

from clubsetup.runtime.addresses import APP_ROLE

COMMANDS = {"read": "SELECT", "add": "INSERT", "change": "UPDATE", "remove": "DELETE"}


def viewer_is(column: str) -> str:
    """The row's `column` is the person looking."""
    return f"{column} = (SELECT access.viewer())"


def in_teams(relation: str, column: str = "team_id") -> str:
    """The viewer is `relation` to the row's team: one of chief, crew, member, reader (may
    read its sheets: members and linked coaches), comment, sheet (may write them), code, walk_in."""
    return f"{column} = ANY ((SELECT access.{relation}_teams())::uuid[])"


def in_clubs(relation: str, column: str = "club_id") -> str:
    """The viewer is `relation` to the row's club: member, steward, official."""
    return f"{column} = ANY ((SELECT access.{relation}_clubs())::uuid[])"


def any_of(*conditions: str) -> str:
    """One of the conditions holds."""
    return "(" + " OR ".join(conditions) + ")"


def all_of(*conditions: str) -> str:
    """All conditions hold."""
    return "(" + " AND ".join(conditions) + ")"


class OnTable(BaseConstraint):
    """A constraint that is SQL on a finished table; the database alone decides on rows."""

    def deconstruct(self) -> tuple[str, Sequence[Any], dict[str, Any]]:
        path, args, kwargs = super().deconstruct()
        return path, args, {**kwargs, **self.given()}

    def given(self) -> dict[str, Any]:
        """What __init__ was given beside the name."""
        raise NotImplementedError

    def __eq__(self, other: object) -> bool:
        return isinstance(other, type(self)) and self.deconstruct() == other.deconstruct()

    def __hash__(self) -> int:
        return hash(self.name)

    def constraint_sql(self, model: Any, schema_editor: Any) -> Any:
        """Nothing inside CREATE TABLE: the SQL follows it."""
        schema_editor.deferred_sql.append(self.create_sql(model, schema_editor))

    def create_sql(self, model: Any, schema_editor: Any) -> Any:
        raise NotImplementedError

    def validate(self, *args: Any, **kwargs: Any) -> None:
        """There is nothing to check in Python."""


class RowSecurity(OnTable):
    """The policies of one table; see the module."""

    def __init__(
        self,
        *,
        name: str,
        read: str,
        add: str = "",
        change: str = "",
        remove: str = "",
        change_columns: Sequence[str] = (),
        change_to: str = "",
    ) -> None:
        """`change` is of the row as it was, `change_to` of what it becomes (the same, if empty).

        `change_columns` are all that UPDATE may set. Only steps of migrations older than this
        rule name none, and meant all.
        """
        super().__init__(name=name)
        self.conditions = {"read": read, "add": add, "change": change, "remove": remove}
        self.change_columns = tuple(change_columns)
        self.change_to = change_to

    def given(self) -> dict[str, Any]:
        """The conditions that are named, and the columns."""
        named: dict[str, Any] = {k: v for k, v in self.conditions.items() if v}
        more = {"change_columns": self.change_columns, "change_to": self.change_to}
        return {**named, **{k: v for k, v in more.items() if v}}

    def _policies(self, table: str) -> list[str]:
        lines = [
            f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
            f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY",
            # FORCE binds the owner too. The functions that decide run as the owner, and so do
            # data migrations; nobody signs in as the owner.
            f"CREATE POLICY owner_all ON {table} TO CURRENT_USER USING (true) WITH CHECK (true)",
            f"REVOKE ALL ON {table} FROM {APP_ROLE}",
        ]
        for key, command in COMMANDS.items():
            condition = self.conditions[key]
            if not condition:
                continue
            columns = ""
            if key == "change" and self.change_columns:
                columns = " (" + ", ".join(f'"{column}"' for column in self.change_columns) + ")"
            lines.append(f"GRANT {command}{columns} ON {table} TO {APP_ROLE}")
            clause = {
                "add": f"WITH CHECK ({condition})",
                "change": f"USING ({condition}) WITH CHECK ({self.change_to or condition})",
            }.get(key, f"USING ({condition})")
            lines.append(
                f"CREATE POLICY {self.name}_{key} ON {table} FOR {command} TO {APP_ROLE} {clause}"
            )
        return lines

    def create_sql(self, model: Any, schema_editor: Any) -> str:
        """The SQL that secures the table."""
        return ";\n".join(self._policies(schema_editor.quote_name(model._meta.db_table)))

    def remove_sql(self, model: Any, schema_editor: Any) -> str:
        """Takes the policies off; the table stays closed to the app until new ones come."""
        table = schema_editor.quote_name(model._meta.db_table)
        names = ["owner_all", *(f"{self.name}_{key}" for key, c in self.conditions.items() if c)]
        return ";\n".join(f"DROP POLICY IF EXISTS {name} ON {table}" for name in names)


class SameParent(OnTable):
    """A row's copied `team_id` (or `club_id`) is its parent's: a foreign key over both columns.

    Policies look at one column of the row itself, so the copy must not be able to lie.
    """

    def __init__(self, *, name: str, parent: str, shared: str, to: str) -> None:
        """`parent`: this row's key column; `shared`: the column both have; `to`: the table."""
        super().__init__(name=name)
        self.parent, self.shared, self.to = parent, shared, to

    def given(self) -> dict[str, Any]:
        """The two columns and the table."""
        return {"parent": self.parent, "shared": self.shared, "to": self.to}

    def create_sql(self, model: Any, schema_editor: Any) -> str:
        """The unique pair on the parent's table, once, then the foreign key."""
        return (
            f"CREATE UNIQUE INDEX IF NOT EXISTS {self.to}_id_{self.shared} "
            f"ON {self.to} (id, {self.shared});\n"
            f"ALTER TABLE {model._meta.db_table} ADD CONSTRAINT {self.name} "
            f"FOREIGN KEY ({self.parent}, {self.shared}) "
            f"REFERENCES {self.to} (id, {self.shared}) DEFERRABLE INITIALLY DEFERRED"
        )

    def remove_sql(self, model: Any, schema_editor: Any) -> str:
        """Drops the foreign key; the parent's unique pair may serve others."""
        return f"ALTER TABLE {model._meta.db_table} DROP CONSTRAINT {self.name}"
