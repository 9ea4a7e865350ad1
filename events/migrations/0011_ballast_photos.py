"""Photos that an official adds to a look at a piece of ballast.

The database holds that the hash is of the picture and that a look has three photos at most.
"""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
import django.db.models.lookups
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('events', '0010_draws'),
        ('teams', '0005_viewer_once'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='BallastPhoto',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('device_at', models.DateTimeField(blank=True, null=True)),
                ('number', models.PositiveSmallIntegerField(help_text='Of the photos of this look, from 1.')),
                ('picture', models.BinaryField()),
                ('small', models.BinaryField()),
                ('width', models.PositiveSmallIntegerField()),
                ('height', models.PositiveSmallIntegerField()),
                ('sha256', models.CharField(help_text='Of the picture, in hexadecimal.', max_length=64)),
                ('ballast_check', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='events.ballastcheck')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('club', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='events.entry')),
                ('team', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['ballast_check', 'number'],
                'abstract': False,
                'constraints': [models.UniqueConstraint(fields=('ballast_check', 'number'), name='ballast_photo_number_once'), models.CheckConstraint(condition=models.Q(('number__gte', 1), ('number__lte', 3)), name='ballast_photo_few'), models.CheckConstraint(condition=models.Q(('sha256', models.Func(models.Func(models.F('picture'), function='sha256', output_field=models.BinaryField()), models.Value('hex'), function='encode', output_field=models.CharField()))), name='ballast_photo_hash_true'), models.CheckConstraint(condition=models.Q(django.db.models.lookups.LessThanOrEqual(models.Func(models.F('picture'), function='octet_length', output_field=models.IntegerField()), 500000), django.db.models.lookups.LessThanOrEqual(models.Func(models.F('small'), function='octet_length', output_field=models.IntegerField()), 40000)), name='ballast_photo_small_enough'), models.CheckConstraint(condition=models.Q(('height__gte', 1), ('height__lte', 1600), ('width__gte', 1), ('width__lte', 1600)), name='ballast_photo_sides'), clubsetup.access.row_security.SameParent(name='ballast_photo_check', parent='ballast_check_id', shared='entry_id', to='events_ballastcheck'), clubsetup.access.row_security.SameParent(name='ballast_photo_club', parent='entry_id', shared='club_id', to='events_entry'), clubsetup.access.row_security.SameParent(name='ballast_photo_team', parent='entry_id', shared='team_id', to='events_entry'), clubsetup.access.row_security.RowSecurity(add='(club_id = ANY ((SELECT access.official_clubs())::uuid[]) AND by_id = (SELECT access.viewer()))', name='ballast_photo', read='(team_id = ANY ((SELECT access.setup_teams())::uuid[]) OR club_id = ANY ((SELECT access.official_clubs())::uuid[]) OR club_id = ANY ((SELECT access.steward_clubs())::uuid[]))')],
            },
        ),
    ]
