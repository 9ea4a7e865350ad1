"""Which sheets somebody printed side by side."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.contrib.postgres.fields
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0022_after_a_run'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Comparison',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('sheets', django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), size=12)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('by', 'sheets'), name='comparison_once_a_person'), models.CheckConstraint(condition=models.Q(('sheets__len__gte', 2), ('sheets__len__lte', 12)), name='comparison_of_two_to_twelve'), clubsetup.access.row_security.RowSecurity(add='(by_id = (SELECT access.viewer()) AND NOT EXISTS (SELECT FROM unnest(sheets) AS one(sheet) WHERE NOT EXISTS (SELECT FROM cars_sheet s WHERE s.id = one.sheet)))', name='comparison', read='(by_id = (SELECT access.viewer()) AND NOT EXISTS (SELECT FROM unnest(sheets) AS one(sheet) WHERE NOT EXISTS (SELECT FROM cars_sheet s WHERE s.id = one.sheet)))')],
            },
        ),
    ]
