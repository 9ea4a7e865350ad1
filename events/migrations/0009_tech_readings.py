"""What an official measures on a car, and its void."""

import clubsetup.access.ids
import clubsetup.access.row_security
import clubsetup.site.model_fields
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0005_bench'),
        ('events', '0008_same_entry'),
        ('teams', '0004_closer_grants'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='TechReading',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('device_at', models.DateTimeField(blank=True, null=True)),
                ('spot', models.CharField(choices=[('LF', 'Left front'), ('RF', 'Right front'), ('LR', 'Left rear'), ('RR', 'Right rear'), ('front', 'Front'), ('rear', 'Rear'), ('left', 'Left'), ('right', 'Right'), ('car', 'Car')], max_length=10)),
                ('value', clubsetup.site.model_fields.QuantityField(decimal_places=10, kind='length', max_digits=20)),
                ('typed', models.CharField(max_length=60)),
                ('resolution', clubsetup.site.model_fields.QuantityField(decimal_places=10, kind='length', max_digits=20)),
            ],
            options={
                'ordering': ['created_at'],
                'abstract': False,
            },
        ),
        migrations.RemoveConstraint(
            model_name='void',
            name='void_of_one_record',
        ),
        migrations.AddField(
            model_name='techreading',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='techreading',
            name='club',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club'),
        ),
        migrations.AddField(
            model_name='techreading',
            name='entry',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='events.entry'),
        ),
        migrations.AddField(
            model_name='techreading',
            name='measure',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.measure'),
        ),
        migrations.AddField(
            model_name='techreading',
            name='team',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team'),
        ),
        migrations.AddField(
            model_name='void',
            name='tech_reading',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='void', to='events.techreading'),
        ),
        migrations.AddConstraint(
            model_name='void',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ballast_check__isnull', True), ('tech_reading__isnull', True), ('weigh_in__isnull', False)), models.Q(('ballast_check__isnull', False), ('tech_reading__isnull', True), ('weigh_in__isnull', True)), models.Q(('ballast_check__isnull', True), ('tech_reading__isnull', False), ('weigh_in__isnull', True)), _connector='OR'), name='void_of_one_record'),
        ),
        migrations.AddConstraint(
            model_name='void',
            constraint=clubsetup.access.row_security.SameParent(name='void_tech_reading', parent='tech_reading_id', shared='entry_id', to='events_techreading'),
        ),
        migrations.AddConstraint(
            model_name='techreading',
            constraint=models.CheckConstraint(condition=models.Q(('value__gt', 0)), name='tech_reading_positive'),
        ),
        migrations.AddConstraint(
            model_name='techreading',
            constraint=models.CheckConstraint(condition=models.Q(('resolution__gt', 0)), name='tech_reading_resolves'),
        ),
        migrations.AddConstraint(
            model_name='techreading',
            constraint=clubsetup.access.row_security.SameParent(name='tech_reading_club', parent='entry_id', shared='club_id', to='events_entry'),
        ),
        migrations.AddConstraint(
            model_name='techreading',
            constraint=clubsetup.access.row_security.SameParent(name='tech_reading_team', parent='entry_id', shared='team_id', to='events_entry'),
        ),
        migrations.AddConstraint(
            model_name='techreading',
            constraint=clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='tech_reading', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))'),
        ),
    ]
