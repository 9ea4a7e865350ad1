"""One word for one thing: the trail, idempotency keys, who reads a team's sheets, and walk-ins."""

import clubsetup.access.row_security
from django.conf import settings
from django.db import migrations

from clubsetup.access.function_bodies import change_words

WORDS = {
    "access_auditrow": "access_trailline",
    "access_receipt": "access_idempotencykey",
    "access.setup_teams": "access.reader_teams",
    "access.tended_teams": "access.walk_in_teams",
}


class Migration(migrations.Migration):
    # All that made a function which names one of these comes first.
    dependencies = [
        ("access", "0012_nothing_to_spare"),
        ("teams", "0012_erasing_accounts"),
        ("cars", "0013_no_answer_before_the_policy"),
        ("events", "0022_erasing_drivers"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations = [
        migrations.RunSQL(
            "ALTER FUNCTION access.setup_teams() RENAME TO reader_teams;"
            "ALTER FUNCTION access.tended_teams() RENAME TO walk_in_teams;",
            "ALTER FUNCTION access.reader_teams() RENAME TO setup_teams;"
            "ALTER FUNCTION access.walk_in_teams() RENAME TO tended_teams;",
        ),
        migrations.RemoveConstraint(model_name="receipt", name="own_receipts"),
        migrations.RemoveConstraint(model_name="auditrow", name="audit_rows"),
        migrations.RenameModel("Receipt", "IdempotencyKey"),
        migrations.RenameModel("AuditRow", "TrailLine"),
        migrations.RenameIndex("TrailLine", old_name="audit_on", new_name="trail_line_on"),
        change_words(WORDS),
        migrations.AddConstraint(
            model_name="idempotencykey",
            constraint=clubsetup.access.row_security.RowSecurity(
                add="by_id = (SELECT access.viewer())",
                name="own_idempotency_keys",
                read="by_id = (SELECT access.viewer())",
            ),
        ),
        migrations.AddConstraint(
            model_name='trailline',
            constraint=clubsetup.access.row_security.RowSecurity(add='(by_id = (SELECT access.viewer()) AND ((team_id IS NULL AND club_id IS NULL) OR team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR (team_id IS NULL AND club_id = ANY ((SELECT access.member_clubs())::uuid[])) OR access.may_write_line(did, on_kind, on_id, club_id, team_id)))', name='trail_lines', read='(team_id = ANY ((SELECT access.member_teams())::uuid[]) OR (team_id IS NULL AND club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR by_id = (SELECT access.viewer()))'),
        ),
    ]
