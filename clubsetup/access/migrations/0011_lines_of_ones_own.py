"""Who writes in which trail: one's own lines, in the trail of a team or club one is of.

From outside a team there are four lines, each about a row that is the team's; what was read there
is told by access.note_read.
"""

import clubsetup.access.row_security
from django.db import migrations

FORWARD = """
CREATE FUNCTION access.may_write_line(did text, on_kind text, on_id uuid, club uuid, team uuid)
  RETURNS boolean LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  RETURN CASE on_kind
    -- A team's first chief is invited by a steward, who may withdraw the invitation.
    WHEN 'teams.invitation' THEN did IN ('invited', 'withdrew')
      AND club = ANY (access.steward_clubs()) AND EXISTS (SELECT FROM teams_invitation i
        WHERE i.id = on_id AND i.team_id = team AND i.club_id = club)
    -- Officials and stewards mend the start list of their event.
    WHEN 'events.entry' THEN did IN ('renumbered', 'withdrew', 'restored')
      AND club = ANY (access.official_clubs() || access.steward_clubs())
      AND EXISTS (SELECT FROM events_entry e
        WHERE e.id = on_id AND e.team_id = team AND e.club_id = club)
    -- And print what belongs to an entry.
    WHEN 'printing.printjob' THEN did = 'asked_for'
      AND club = ANY (access.official_clubs() || access.steward_clubs())
      AND EXISTS (SELECT FROM printing_printjob j JOIN events_entry e ON e.id = j.subject_id
        WHERE j.id = on_id AND j.asked_by_id = access.viewer() AND e.team_id = team
          AND e.club_id = club)
    -- A coach lays down a link, also one that counts no more.
    WHEN 'teams.coachlink' THEN did = 'unlinked' AND EXISTS (SELECT FROM teams_coachlink l
        WHERE l.id = on_id AND l.team_id = team AND l.coach_id = access.viewer())
    ELSE false END;
END $$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('access', '0010_told_who_read'),
    ]

    operations = [
        migrations.RunSQL(FORWARD, migrations.RunSQL.noop),
        migrations.RemoveConstraint(
            model_name='apitoken',
            name='own_tokens',
        ),
        migrations.RemoveConstraint(
            model_name='auditrow',
            name='audit_rows',
        ),
        migrations.AddConstraint(
            model_name='apitoken',
            constraint=clubsetup.access.row_security.RowSecurity(add='user_id = (SELECT access.viewer())', change='user_id = (SELECT access.viewer())', change_columns=('ended_at',), name='own_tokens', read='user_id = (SELECT access.viewer())'),
        ),
        migrations.AddConstraint(
            model_name='auditrow',
            constraint=clubsetup.access.row_security.RowSecurity(add='(by_id = (SELECT access.viewer()) AND ((team_id IS NULL AND club_id IS NULL) OR team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR (team_id IS NULL AND club_id = ANY ((SELECT access.member_clubs())::uuid[])) OR access.may_write_line(did, on_kind, on_id, club_id, team_id)))', name='audit_rows', read='(team_id = ANY ((SELECT access.member_teams())::uuid[]) OR (team_id IS NULL AND club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR by_id = (SELECT access.viewer()))'),
        ),
    ]
