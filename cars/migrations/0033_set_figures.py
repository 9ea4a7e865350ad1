"""What is kept of a closed sheet says how it was set, too, where something was changed since."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0032_handed_runs'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='closedfigures',
            name='as_set',
            field=models.JSONField(help_text='Of the boxes that were changed at the track since, how they were set; null where that was not kept yet.', null=True),
        ),
        migrations.AddIndex(
            model_name='rundetails',
            index=models.Index(condition=models.Q(('damage', ''), _negated=True), fields=['team'], name='run_damage_of_team'),
        ),
    ]
