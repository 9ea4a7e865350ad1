"""The sheet that a bench is worked towards."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.db import migrations, models

CLOSED = """
CREATE TRIGGER sheet_is_closed BEFORE INSERT ON cars_benchtarget
  FOR EACH ROW EXECUTE FUNCTION access.refuse_on_closed_sheet();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0004_own_name_own_car'),
        ('teams', '0004_closer_grants'),
    ]

    operations = [
        migrations.CreateModel(
            name='BenchTarget',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('sheet', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='bench_target', to='cars.sheet')),
                ('target', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.sheet')),
                ('team', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('target', models.F('sheet')), _negated=True), name='bench_target_is_another_sheet'), clubsetup.access.row_security.SameParent(name='bench_target_team', parent='sheet_id', shared='team_id', to='cars_sheet'), clubsetup.access.row_security.SameParent(name='bench_target_own', parent='target_id', shared='team_id', to='cars_sheet'), clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', name='bench_target', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])')],
            },
        ),
        migrations.RunSQL(CLOSED, migrations.RunSQL.noop),
    ]
