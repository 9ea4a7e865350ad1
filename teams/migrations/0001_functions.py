"""Who a person is to teams and clubs, as stable functions for the policies.

They run as the owner (SECURITY DEFINER), because they read the membership tables whose own
policies call them. Each takes no argument but the viewer, so it can tell a person only about
themselves. Their bodies name tables that later migrations make.
"""

from django.db import migrations

TEAMS = {
    "chief": "SELECT team_id FROM teams_teammember WHERE user_id = access.viewer() AND role = 'chief'",
    "crew": "SELECT team_id FROM teams_teammember WHERE user_id = access.viewer() AND role IN ('chief', 'crew')",
    "member": "SELECT team_id FROM teams_teammember WHERE user_id = access.viewer()",
}
# A link counts while its coach is a coach of the team's club.
LINK = (
    "SELECT l.team_id FROM teams_coachlink l JOIN teams_clubmember m "
    "ON m.club_id = l.club_id AND m.user_id = l.coach_id AND m.role = 'coach' "
    "WHERE l.coach_id = access.viewer()"
)
TEAMS["setup"] = f"{TEAMS['member']} UNION {LINK}"
TEAMS["comment"] = f"{TEAMS['crew']} UNION {LINK}"
TEAMS["sheet"] = f"{TEAMS['crew']} UNION {LINK} AND l.may_write"
TEAMS["code"] = f"{TEAMS['member']} UNION {LINK} AND l.may_see_codes"

OPEN_INVITATION = (
    "FROM teams_invitation WHERE digest = access.shown_invitation() AND accepted_at IS NULL "
    "AND withdrawn_at IS NULL AND expires_at > now()"
)
TEAMS["invited"] = f"SELECT team_id {OPEN_INVITATION} AND team_id IS NOT NULL"

CLUBS = {
    "steward": "SELECT club_id FROM teams_clubmember WHERE user_id = access.viewer() AND role = 'steward'",
    "official": "SELECT club_id FROM teams_clubmember WHERE user_id = access.viewer() AND role = 'official'",
    "member": (
        "SELECT club_id FROM teams_clubmember WHERE user_id = access.viewer() "
        "UNION SELECT club_id FROM teams_teammember WHERE user_id = access.viewer()"
    ),
    # The founder writes the first steward, and has no more say than that.
    "founded": (
        "SELECT id AS club_id FROM teams_club c WHERE founder_id = access.viewer() "
        "AND NOT EXISTS (SELECT FROM teams_clubmember m WHERE m.club_id = c.id)"
    ),
    "invited": f"SELECT club_id {OPEN_INVITATION}",
}

SAFE = "STABLE SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp"
HEAD = f"LANGUAGE sql {SAFE}"


def _array(name: str, column: str, body: str) -> str:
    # PL/pgSQL keeps the plan for the session; SQL functions do so from PostgreSQL 18 on only.
    return (
        f"CREATE FUNCTION access.{name}() RETURNS uuid[] LANGUAGE plpgsql {SAFE} AS $$ BEGIN\n"
        f"  RETURN (SELECT COALESCE(array_agg(DISTINCT {column}), '{{}}') FROM ({body}) AS found);\n"
        "END $$;"
    )


FORWARD = "\n".join(
    [
        "SET LOCAL check_function_bodies = off;",
        "CREATE FUNCTION access.shown_invitation() RETURNS text LANGUAGE sql STABLE PARALLEL SAFE",
        "  RETURN NULLIF(current_setting('clubsetup.invitation', true), '');",
        *(_array(f"{name}_teams", "team_id", body) for name, body in TEAMS.items()),
        *(_array(f"{name}_clubs", "club_id", body) for name, body in CLUBS.items()),
        f"CREATE FUNCTION access.has_chief(given uuid) RETURNS boolean {HEAD} AS $$",
        "  SELECT EXISTS (SELECT FROM teams_teammember WHERE team_id = given AND role = 'chief') $$;",
        f"CREATE FUNCTION access.club_invitations() RETURNS TABLE (club_id uuid, role text) {HEAD} AS $$",
        f"  SELECT club_id, role::text {OPEN_INVITATION} AND team_id IS NULL $$;",
        f"CREATE FUNCTION access.team_invitations() RETURNS TABLE (team_id uuid, role text) {HEAD} AS $$",
        # A steward's invitation makes a team's first chief; it opens no team that has one.
        f"  SELECT team_id, role::text {OPEN_INVITATION} AND team_id IS NOT NULL AND (",
        "    NOT access.has_chief(team_id) OR EXISTS (SELECT FROM teams_teammember m WHERE m.role = 'chief'",
        "    AND m.team_id = teams_invitation.team_id AND m.user_id = teams_invitation.invited_by_id)) $$;",
    ]
)


class Migration(migrations.Migration):
    initial = True
    dependencies = [("access", "0001_functions")]
    operations = [migrations.RunSQL(FORWARD, migrations.RunSQL.noop)]
