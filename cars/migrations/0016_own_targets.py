"""What a team wants beside the baseline is called its own targets, as on the pages."""

import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from clubsetup.access.function_bodies import change_words

OLD_CONSTRAINTS = (
    "version_once",
    "one_now",
    "has_reason",
    "tolerance_not_negative",
    "surface_known",
    "replaced_at_with_by",
)


class Migration(migrations.Migration):
    # The function that erases a driver names the table, and comes first.
    dependencies = [
        ("cars", "0015_words"),
        ("events", "0023_words"),
        ("teams", "0013_words"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations = [
        *(
            migrations.RemoveConstraint(model_name="preference", name=f"preference_{name}")
            for name in OLD_CONSTRAINTS
        ),
        migrations.RemoveConstraint(model_name="preference", name="preference"),
        migrations.RenameModel("Preference", "OwnTarget"),
        change_words({"cars_preference": "cars_owntarget"}),
        migrations.AlterField(
            model_name='owntarget',
            name='car',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='own_targets', to='cars.car'),
        ),
        migrations.AddConstraint(
            model_name='owntarget',
            constraint=models.UniqueConstraint(fields=('car', 'team', 'surface', 'measure', 'spot', 'version'), name='own_target_version_once'),
        ),
        migrations.AddConstraint(
            model_name='owntarget',
            constraint=models.UniqueConstraint(condition=models.Q(('replaced_at__isnull', True)), fields=('car', 'team', 'surface', 'measure', 'spot'), name='own_target_one_now'),
        ),
        migrations.AddConstraint(
            model_name='owntarget',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='own_target_has_reason'),
        ),
        migrations.AddConstraint(
            model_name='owntarget',
            constraint=models.CheckConstraint(condition=models.Q(('tolerance__gte', 0)), name='own_target_tolerance_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='owntarget',
            constraint=models.CheckConstraint(condition=models.Q(('surface__in', ['', 'paved', 'dirt'])), name='own_target_surface_known'),
        ),
        migrations.AddConstraint(
            model_name='owntarget',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_at__isnull', True), ('replaced_by__isnull', True)), models.Q(('replaced_at__isnull', False), ('replaced_by__isnull', False)), _connector='OR'), name='own_target_replaced_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='owntarget',
            constraint=clubsetup.access.row_security.RowSecurity(add='(team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND by_id = (SELECT access.viewer()) AND EXISTS (SELECT FROM cars_car c WHERE c.id = car_id AND c.team_id = cars_owntarget.team_id))', change='team_id = ANY ((SELECT access.crew_teams())::uuid[])', change_columns=('replaced_at', 'replaced_by_id'), name='own_target', read='team_id = ANY ((SELECT access.reader_teams())::uuid[])'),
        ),
    ]
