"""Accepted turn plans, resets of what a car has taught, and when a figure was really read."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.contrib.postgres.fields
import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


# Rows there before were read and made when they reached the server.
WHEN = """
ALTER TABLE cars_reading DISABLE TRIGGER sheet_is_closed;
ALTER TABLE cars_change DISABLE TRIGGER sheet_is_closed;
UPDATE cars_reading SET taken_at = created_at;
UPDATE cars_change SET made_at = created_at;
SET CONSTRAINTS ALL IMMEDIATE;
ALTER TABLE cars_reading ENABLE TRIGGER sheet_is_closed;
ALTER TABLE cars_change ENABLE TRIGGER sheet_is_closed;
"""
CLOSED = """
CREATE TRIGGER sheet_is_closed BEFORE INSERT OR UPDATE ON cars_plan
  FOR EACH ROW EXECUTE FUNCTION access.refuse_on_closed_sheet();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0002_guards'),
        ('teams', '0003_invitations_of_the_club'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='change',
            name='made_at',
            field=models.DateTimeField(default=django.utils.timezone.now),
        ),
        migrations.AddField(
            model_name='reading',
            name='taken_at',
            field=models.DateTimeField(default=django.utils.timezone.now),
        ),
        migrations.RunSQL(WHEN, migrations.RunSQL.noop),
        migrations.CreateModel(
            name='CalibrationReset',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('reason', models.CharField(max_length=200)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('car', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='calibration_resets', to='cars.car')),
                ('team', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['created_at'],
                'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='calibration_reset_has_reason'), clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_calibrationreset.team_id))', name='calibration_reset', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])')],
            },
        ),
        migrations.CreateModel(
            name='Plan',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('accepted_at', models.DateTimeField()),
                ('turns', django.contrib.postgres.fields.ArrayField(base_field=models.DecimalField(decimal_places=4, max_digits=8), size=4)),
                ('started_from', django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), size=None)),
                ('geometry', models.JSONField()),
                ('learned', models.PositiveSmallIntegerField(help_text='Changes that the prediction knew of.')),
                ('loads_before', django.contrib.postgres.fields.ArrayField(base_field=models.FloatField(), size=4)),
                ('heights_before', django.contrib.postgres.fields.ArrayField(base_field=models.FloatField(), null=True, size=4)),
                ('loads', django.contrib.postgres.fields.ArrayField(base_field=models.FloatField(), size=4)),
                ('u_loads', django.contrib.postgres.fields.ArrayField(base_field=models.FloatField(), size=4)),
                ('heights', django.contrib.postgres.fields.ArrayField(base_field=models.FloatField(), null=True, size=4)),
                ('u_heights', django.contrib.postgres.fields.ArrayField(base_field=models.FloatField(), null=True, size=4)),
                ('cross_before', models.FloatField()),
                ('cross', models.FloatField()),
                ('u_cross', models.FloatField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='plans', to='cars.sheet')),
                ('team', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['accepted_at'],
                'constraints': [models.CheckConstraint(condition=models.Q(('turns__len', 4), ('loads_before__len', 4), ('loads__len', 4), ('u_loads__len', 4)), name='plan_four_corners'), models.CheckConstraint(condition=models.Q(models.Q(('heights__isnull', True), ('heights_before__isnull', True), ('u_heights__isnull', True)), models.Q(('heights__len', 4), ('heights_before__len', 4), ('u_heights__len', 4)), _connector='OR'), name='plan_heights_together'), clubsetup.access.row_security.SameParent(name='plan_team', parent='sheet_id', shared='team_id', to='cars_sheet'), clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', name='plan', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])')],
            },
        ),
        migrations.RunSQL(CLOSED, migrations.RunSQL.noop),
    ]
