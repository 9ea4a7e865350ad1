"""Who a person is to teams and clubs, asked at a quarter of the cost.

The same answers as before. Every statement on a secured table calls one of these functions, and
most of its time went into asking for the viewer again in each of its scans and into sorting out
doubles, which do no harm in an array that is only searched.
"""

from django.db import migrations

MEMBER = "SELECT team_id FROM teams_teammember WHERE user_id = me"
CREW = f"{MEMBER} AND role IN ('chief', 'crew')"
# A link counts while its coach is a coach of the team's club.
LINK = (
    "SELECT l.team_id FROM teams_coachlink l JOIN teams_clubmember m "
    "ON m.club_id = l.club_id AND m.user_id = l.coach_id AND m.role = 'coach' WHERE l.coach_id = me"
)
ROLE = "SELECT club_id FROM teams_clubmember WHERE user_id = me"
OPEN_INVITATION = (
    "FROM teams_invitation WHERE digest = shown AND accepted_at IS NULL "
    "AND withdrawn_at IS NULL AND expires_at > now()"
)
ANSWERS = {
    "chief_teams": f"{MEMBER} AND role = 'chief'",
    "crew_teams": CREW,
    "member_teams": MEMBER,
    "setup_teams": f"{MEMBER} UNION ALL {LINK}",
    "comment_teams": f"{CREW} UNION ALL {LINK}",
    "sheet_teams": f"{CREW} UNION ALL {LINK} AND l.may_write",
    "code_teams": f"{MEMBER} UNION ALL {LINK} AND l.may_see_codes",
    "invited_teams": f"SELECT team_id {OPEN_INVITATION} AND team_id IS NOT NULL",
    "steward_clubs": f"{ROLE} AND role = 'steward'",
    "official_clubs": f"{ROLE} AND role = 'official'",
    "member_clubs": f"{ROLE} UNION ALL SELECT club_id FROM teams_teammember WHERE user_id = me",
    # The founder writes the first steward, and has no more say than that.
    "founded_clubs": (
        "SELECT id FROM teams_club c WHERE founder_id = me "
        "AND NOT EXISTS (SELECT FROM teams_clubmember m WHERE m.club_id = c.id)"
    ),
    "invited_clubs": f"SELECT club_id {OPEN_INVITATION}",
}


def _function(name: str, body: str) -> str:
    known = (
        "shown text := access.shown_invitation();"
        if "shown" in body
        else "me uuid := access.viewer();"
    )
    return (
        f"CREATE OR REPLACE FUNCTION access.{name}() RETURNS uuid[] LANGUAGE plpgsql STABLE "
        "SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp AS $$ "
        f"DECLARE {known} BEGIN RETURN ARRAY({body}); END $$;"
    )


class Migration(migrations.Migration):
    dependencies = [("teams", "0004_closer_grants")]
    operations = [
        migrations.RunSQL(
            "\n".join(_function(name, body) for name, body in ANSWERS.items()),
            migrations.RunSQL.noop,
        )
    ]
