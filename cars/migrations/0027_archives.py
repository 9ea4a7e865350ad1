"""Archives that came in, and what erasing a driver does to archives.

The archive of a team, what is printed of a car and comparisons show a driver too: erasing removes
them. What came in to be read stays, without the name.
"""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

FORWARD = """
CREATE OR REPLACE FUNCTION access.subjects_of_driver(given uuid, given_team uuid) RETURNS uuid[]
  LANGUAGE sql STABLE SET search_path = public, pg_temp AS $$
  SELECT ARRAY(SELECT id FROM events_entry WHERE driver_id = given
    UNION SELECT event_id FROM events_entry WHERE driver_id = given
    UNION SELECT id FROM cars_sheet WHERE team_id = given_team
    UNION SELECT id FROM cars_car WHERE team_id = given_team
    UNION SELECT c.id FROM cars_comparison c WHERE EXISTS (
      SELECT FROM cars_sheet s WHERE s.team_id = given_team AND s.id = ANY (c.sheets))
    UNION SELECT given_team) $$;

DO $do$ BEGIN
  EXECUTE replace(pg_get_functiondef('access.erase_driver(uuid)'::regprocedure),
    'DELETE FROM teams_driver WHERE id = given;', $sql$UPDATE cars_importedarchive
    SET attached = access.json_without_name(attached, driver.display_name),
      source_team = access.without_name(source_team, driver.display_name, 80),
      source_club = access.without_name(source_club, driver.display_name, 80)
    WHERE team_id = driver.team_id;
  DELETE FROM teams_driver WHERE id = given;$sql$);
END $do$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0026_handover'),
        ('events', '0028_entered_and_handed_over'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ImportedArchive',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('digest', models.CharField(help_text='SHA-256 of the JSON that came in.', max_length=64)),
                ('source_team', models.CharField(max_length=80)),
                ('source_club', models.CharField(max_length=80)),
                ('made_at', models.DateTimeField(help_text='When the archive was made, as it says.')),
                ('source_ids', models.JSONField(default=dict)),
                ('attached', models.JSONField(default=dict)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['-id'],
                'indexes': [models.Index(fields=['team', 'id'], name='imported_archive_of_team')],
                'constraints': [models.UniqueConstraint(fields=('team', 'digest'), name='imported_archive_once'), clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND by_id = (SELECT access.viewer()))', name='imported_archive', read='team_id = ANY ((SELECT access.crew_teams())::uuid[])')],
            },
        ),
        migrations.RunSQL(FORWARD),
    ]
