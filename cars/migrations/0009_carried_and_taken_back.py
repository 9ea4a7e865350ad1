"""A figure copied to the next sheet says so; a change that was never made is taken back.

Copies made before are found by what no second reading shares with the first: box, text, person and
the very microsecond it was taken, on the sheet that the copy's sheet follows. Closed sheets are
marked too: no figure of theirs is changed, only what is known of where it came from.
"""

import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

CARRIED = """
ALTER TABLE cars_reading DISABLE TRIGGER sheet_is_closed;
UPDATE cars_reading copy SET carried_from_id = first.id
FROM cars_sheet sheet, cars_reading first
WHERE sheet.id = copy.sheet_id AND sheet.role IN ('found', 'left')
  AND first.sheet_id = sheet.based_on_id
  AND (first.measure_id, first.spot, first.take, first.typed, first.unit, first.by_id)
    = (copy.measure_id, copy.spot, copy.take, copy.typed, copy.unit, copy.by_id)
  AND first.taken_at = copy.taken_at AND first.created_at < copy.created_at;
DO $$
DECLARE
  moved bigint;
BEGIN
  -- A copy of a copy names the reading that was read.
  LOOP
    UPDATE cars_reading copy SET carried_from_id = earlier.carried_from_id
    FROM cars_reading earlier
    WHERE earlier.id = copy.carried_from_id AND earlier.carried_from_id IS NOT NULL;
    GET DIAGNOSTICS moved = ROW_COUNT;
    EXIT WHEN moved = 0;
  END LOOP;
END $$;
SET CONSTRAINTS ALL IMMEDIATE;
ALTER TABLE cars_reading ENABLE TRIGGER sheet_is_closed;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0008_what_teams_run'),
        ('teams', '0006_the_wall_clock_of_a_club'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='change',
            name='change',
        ),
        migrations.AddField(
            model_name='change',
            name='now_at',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.ballastmount'),
        ),
        migrations.AddField(
            model_name='change',
            name='piece',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.ballastpiece'),
        ),
        migrations.AddField(
            model_name='change',
            name='taken_back_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='change',
            name='taken_back_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='change',
            name='was_at',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.ballastmount'),
        ),
        migrations.AddField(
            model_name='reading',
            name='carried_from',
            field=models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cars.reading'),
        ),
        migrations.RunSQL(CARRIED, migrations.RunSQL.noop),
        migrations.AddField(
            model_name='sheet',
            name='fuel_carried',
            field=models.BooleanField(default=False),
        ),
        migrations.AddConstraint(
            model_name='change',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('taken_back_at__isnull', True), ('taken_back_by__isnull', True)), models.Q(('taken_back_at__isnull', False), ('taken_back_by__isnull', False)), _connector='OR'), name='change_taken_back_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='change',
            constraint=clubsetup.access.row_security.RowSecurity(add='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change='team_id = ANY ((SELECT access.sheet_teams())::uuid[])', change_columns=('taken_back_at', 'taken_back_by_id'), name='change', read='team_id = ANY ((SELECT access.setup_teams())::uuid[])'),
        ),
    ]
