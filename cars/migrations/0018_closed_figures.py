"""What a closed sheet says is kept, until a change that was noted later makes it say another thing.

Notes may still come on an open sheet that is based on a closed one: what stood on the car as found
is turned on the sheet as set. The lock makes whoever notes it and whoever keeps the figures wait
for each other.
"""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.db import migrations, models

FORWARD = """
CREATE FUNCTION access.forget_closed_figures() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE followed uuid;
BEGIN
  SELECT based_on_id INTO followed FROM cars_sheet WHERE id = NEW.sheet_id;
  PERFORM FROM cars_sheet WHERE id = followed FOR SHARE;
  DELETE FROM cars_closedfigures WHERE sheet_id IN (NEW.sheet_id, followed);
  RETURN NULL;
END $$;
REVOKE EXECUTE ON FUNCTION access.forget_closed_figures() FROM PUBLIC;
CREATE TRIGGER forget_closed_figures AFTER INSERT OR UPDATE ON cars_change
  FOR EACH ROW EXECUTE FUNCTION access.forget_closed_figures();
"""
BACK = """
DROP TRIGGER forget_closed_figures ON cars_change;
DROP FUNCTION access.forget_closed_figures();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0017_lists_by_owner'),
        ('teams', '0014_lists_by_owner'),
    ]

    operations = [
        migrations.CreateModel(
            name='ClosedFigures',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('values', models.JSONField(help_text="By box, canonical: {'ride-height.LF': 57.15, ...}")),
                ('sheet', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='closed_figures', to='cars.sheet')),
                ('team', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'indexes': [models.Index(fields=['team', 'id'], name='closed_figures_of_team')],
                'constraints': [clubsetup.access.row_security.SameParent(name='closed_figures_team', parent='sheet_id', shared='team_id', to='cars_sheet'), clubsetup.access.row_security.RowSecurity(add="(team_id = ANY ((SELECT access.sheet_teams())::uuid[]) AND EXISTS (SELECT FROM cars_sheet s WHERE s.id = sheet_id AND s.state = 'closed'))", name='closed_figures', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])')],
            },
        ),
        migrations.RunSQL(FORWARD, BACK),
    ]
