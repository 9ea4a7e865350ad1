"""What holds of the whole database, whatever migrations add: brought about after each `migrate`."""

from django.db import connections

from clubsetup.runtime.addresses import APP_ROLE

# The MAC is bound to the server process, and a parallel worker is another one: there whoever asks
# for the viewer would be told that it is nobody.
STAY_WITH_THE_LEADER = """
DO $$ DECLARE one regprocedure; BEGIN
  FOR one IN SELECT oid FROM pg_proc
    WHERE pronamespace = 'access'::regnamespace AND proparallel = 's' AND prokind = 'f'
  LOOP EXECUTE format('ALTER FUNCTION %s PARALLEL RESTRICTED', one); END LOOP;
END $$
"""
# A temporary table comes before every other of its name, and stays with the connection: whoever
# made one would have the next person's statements run on it, with that person as the viewer.
NOTHING_TEMPORARY = """
DO $$ BEGIN
  EXECUTE format('REVOKE TEMPORARY ON DATABASE %I FROM PUBLIC', current_database());
END $$
"""


def close_walls(alias: str) -> str:
    """The owner's part; says what an administrator has to do where the owner may not."""
    with connections[alias].cursor() as cursor:
        cursor.execute("SELECT to_regnamespace('access')")
        if cursor.fetchone()[0] is None:
            return ""
        cursor.execute(STAY_WITH_THE_LEADER)
        cursor.execute(NOTHING_TEMPORARY)
        cursor.execute(
            "SELECT has_database_privilege(%s, current_database(), 'TEMPORARY'), "
            "current_database()",
            [APP_ROLE],
        )
        may, name = cursor.fetchone()
    if not may:
        return ""
    return (
        f"The role {APP_ROLE} may make temporary tables, with which a hole in one page reaches "
        f'into others. Let an administrator run: REVOKE TEMPORARY ON DATABASE "{name}" FROM PUBLIC;'
    )
