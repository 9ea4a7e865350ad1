"""Addresses and second factors: the viewer's own, or those of whoever is signing in.

They stand in another library's tables. This is here, and not in `access`, because on a new database
that library's first migration needs the table of people without saying so: whatever `access` waits
for would come too early.
"""

from django.db import migrations

from clubsetup.runtime.addresses import APP_ROLE

OWN = (
    "(user_id = (SELECT access.viewer()) OR user_id = ANY ((SELECT access.signing_in())::uuid[]))"
)


def _own_rows(table: str, commands: dict[str, str]) -> str:
    """A table of another library's: rows of the viewer's own, or of whoever is signing in."""
    lines = [
        f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
        f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY",
        f"CREATE POLICY owner_all ON {table} TO CURRENT_USER USING (true) WITH CHECK (true)",
        f"REVOKE ALL ON {table} FROM {APP_ROLE}",
    ]
    for command, more in commands.items():
        check = f"{OWN} AND {more}" if more else OWN
        clause = {
            "INSERT": f"WITH CHECK ({check})",
            "UPDATE": f"USING ({OWN}) WITH CHECK ({check})",
        }.get(command, f"USING ({OWN})")
        lines += [
            f"GRANT {command} ON {table} TO {APP_ROLE}",
            f"CREATE POLICY own_{command.lower()} ON {table} FOR {command} TO {APP_ROLE} {clause}",
        ]
    return ";\n".join(lines) + ";\n"


# Whether somebody else has an address shows as a clash of keys: so a new one, and one that becomes
# confirmed, must be the address that the sign-in code is asking about.
NAMED = "email = (SELECT access.signing_address())"
ADDED = (
    f"({NAMED} OR NOT verified AND email = ANY ((SELECT access.account_addresses())::text[]))"
)
CONFIRMED = f"(NOT verified OR {NAMED} OR email = ANY ((SELECT access.confirmed_addresses())::text[]))"
ROWS = _own_rows(
    "account_emailaddress", {"SELECT": "", "INSERT": ADDED, "UPDATE": CONFIRMED, "DELETE": ""}
) + _own_rows("mfa_authenticator", dict.fromkeys(("SELECT", "INSERT", "UPDATE", "DELETE"), ""))
# Links to confirm an address are signed and stand in no table. Whoever removes an address removes
# what hangs on it; the role finds no row there.
UNUSED = _own_rows("account_emailconfirmation", {})
UNUSED += f"GRANT DELETE, SELECT (email_address_id) ON account_emailconfirmation TO {APP_ROLE};"


def _open(table: str) -> str:
    names = ("owner_all", "own_select", "own_insert", "own_update", "own_delete")
    return "\n".join(
        [
            *(f"DROP POLICY IF EXISTS {name} ON {table};" for name in names),
            f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY, DISABLE ROW LEVEL SECURITY;",
            f"GRANT SELECT, INSERT, UPDATE, DELETE ON {table} TO {APP_ROLE};",
        ]
    )


TABLES = ("account_emailaddress", "mfa_authenticator", "account_emailconfirmation")
BACK = "\n".join(_open(table) for table in TABLES)


class Migration(migrations.Migration):
    initial = True
    dependencies = [
        ("access", "0007_people"),
        ("account", "0009_emailaddress_unique_primary_email"),
        ("mfa", "0003_authenticator_type_uniq"),
    ]
    operations = [migrations.RunSQL(ROWS + UNUSED, BACK)]
