"""Tables of suggestions: a club's, a coach's for the teams that link to the coach, a team's own."""

import clubsetup.access.ids
import clubsetup.access.row_security
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


FORWARD = """
CREATE FUNCTION access.coach_clubs() RETURNS uuid[] LANGUAGE plpgsql STABLE
  SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp AS $$
DECLARE me uuid := access.viewer(); BEGIN RETURN ARRAY(
  SELECT club_id FROM teams_clubmember WHERE user_id = me AND role = 'coach'); END $$;

-- What coaches have published whom the viewer's own teams link. A link counts while its coach is a
-- coach of the team's club, as in the other functions.
CREATE FUNCTION access.coached_tables() RETURNS uuid[] LANGUAGE plpgsql STABLE
  SECURITY DEFINER PARALLEL SAFE SET search_path = public, pg_temp AS $$
DECLARE me uuid := access.viewer(); BEGIN RETURN ARRAY(
  SELECT t.id FROM teams_teammember m JOIN teams_coachlink l ON l.team_id = m.team_id
  JOIN teams_clubmember c ON c.club_id = l.club_id AND c.user_id = l.coach_id AND c.role = 'coach'
  JOIN cars_suggestiontable t ON t.coach_id = l.coach_id AND t.club_id = l.club_id AND t.state <> 'draft'
  WHERE m.user_id = me); END $$;
"""

BACK = "DROP FUNCTION access.coach_clubs(), access.coached_tables();"

# A driver who is erased may be named in what the team wrote of its own suggestions.
ERASING = """
DO $do$ BEGIN
  EXECUTE replace(pg_get_functiondef('access.erase_driver(uuid)'::regprocedure),
    'DELETE FROM teams_driver WHERE id = given;', $sql$UPDATE cars_suggestiontable SET note = access.without_name(note, driver.display_name, 1000000)
    WHERE team_id = driver.team_id
      AND note <> access.without_name(note, driver.display_name, 1000000);
  UPDATE cars_suggestion s SET why = access.without_name(why, driver.display_name, 300),
      caution = access.without_name(caution, driver.display_name, 300),
      source_note = access.without_name(source_note, driver.display_name, 120)
    FROM cars_suggestiontable t WHERE t.id = s.table_id AND t.team_id = driver.team_id
      AND (why <> access.without_name(why, driver.display_name, 300)
        OR caution <> access.without_name(caution, driver.display_name, 300)
        OR source_note <> access.without_name(source_note, driver.display_name, 120));
  DELETE FROM teams_driver WHERE id = given;$sql$);
END $do$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cars', '0020_runs'),
        ('teams', '0014_lists_by_owner'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunSQL(FORWARD, BACK),
        migrations.CreateModel(
            name='SuggestionTable',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('version', models.PositiveIntegerField()),
                ('state', models.CharField(choices=[('draft', 'Draft'), ('published', 'Published'), ('retired', 'Retired')], default='draft', max_length=10)),
                ('note', models.TextField(blank=True, help_text='What changed and why.')),
                ('published_at', models.DateTimeField(blank=True, null=True)),
                ('club', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club')),
                ('coach', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('published_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('team', models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.team')),
            ],
            options={
                'ordering': ['-version'],
            },
        ),
        migrations.CreateModel(
            name='Suggestion',
            fields=[
                ('id', models.UUIDField(default=clubsetup.access.ids.new_id, editable=False, primary_key=True, serialize=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('place', models.CharField(blank=True, choices=[('entry', 'Entry'), ('middle', 'Middle'), ('exit', 'Exit')], max_length=10)),
                ('balance', models.CharField(blank=True, choices=[('pushes', 'Pushes'), ('turns', 'Turns'), ('loose', 'Loose')], max_length=10)),
                ('hands', models.CharField(blank=True, choices=[('right', 'Right'), ('straight', 'Straight'), ('bit-left', 'A bit left'), ('far-left', 'Far left')], max_length=10)),
                ('steering', models.CharField(blank=True, choices=[('light', 'Light'), ('good', 'Good'), ('heavy', 'Heavy')], max_length=10)),
                ('surface', models.CharField(blank=True, choices=[('paved', 'Paved'), ('dirt', 'Dirt')], max_length=10)),
                ('surface_state', models.CharField(blank=True, choices=[('cold', 'Cold track'), ('warm', 'Warm track'), ('hot', 'Hot track'), ('damp', 'Damp'), ('dusty', 'Dusty'), ('tacky', 'Tacky'), ('dry-slick', 'Dry slick')], max_length=10)),
                ('adjuster', models.SlugField(max_length=40)),
                ('spot', models.CharField(choices=[('LF', 'Left front'), ('RF', 'Right front'), ('LR', 'Left rear'), ('RR', 'Right rear'), ('front', 'Front'), ('rear', 'Rear'), ('left', 'Left'), ('right', 'Right'), ('car', 'Car')], max_length=10)),
                ('amount', models.DecimalField(decimal_places=4, max_digits=12)),
                ('unit', models.CharField(max_length=12)),
                ('why', models.CharField(help_text='What it does to the car, in one sentence.', max_length=300)),
                ('minutes', models.PositiveSmallIntegerField(help_text='How long it takes.')),
                ('caution', models.CharField(blank=True, max_length=300)),
                ('source', models.CharField(choices=[('common-practice', 'Common practice, no source'), ('maker', "The maker's sheet"), ('club', "The club's experience"), ('coach', "The coach's experience"), ('team', "The team's own record")], max_length=20)),
                ('source_note', models.CharField(blank=True, max_length=120)),
                ('position', models.PositiveSmallIntegerField(help_text='Its place in the table, from 1.')),
                ('club', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='teams.club')),
                ('table', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='suggestions', to='cars.suggestiontable')),
            ],
            options={
                'ordering': ['position', 'id'],
            },
        ),
        migrations.AddIndex(
            model_name='suggestiontable',
            index=models.Index(condition=models.Q(('coach__isnull', True), ('team__isnull', True)), fields=['club', 'id'], name='suggestion_table_of_club'),
        ),
        migrations.AddIndex(
            model_name='suggestiontable',
            index=models.Index(fields=['team', 'id'], name='suggestion_table_of_team'),
        ),
        migrations.AddIndex(
            model_name='suggestiontable',
            index=models.Index(fields=['coach', 'id'], name='suggestion_table_of_coach'),
        ),
        migrations.AddConstraint(
            model_name='suggestiontable',
            constraint=models.UniqueConstraint(fields=('club', 'team', 'coach', 'version'), name='suggestion_table_version_once', nulls_distinct=False),
        ),
        migrations.AddConstraint(
            model_name='suggestiontable',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'published')), fields=('club', 'team', 'coach'), name='suggestion_table_one_published', nulls_distinct=False),
        ),
        migrations.AddConstraint(
            model_name='suggestiontable',
            constraint=models.CheckConstraint(condition=models.Q(('team__isnull', True), ('coach__isnull', True), _connector='OR'), name='suggestion_table_of_team_or_coach'),
        ),
        migrations.AddConstraint(
            model_name='suggestiontable',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('published_at__isnull', True), ('published_by__isnull', True), ('state', 'draft')), models.Q(('published_at__isnull', False), ('published_by__isnull', False), ('state__in', ['published', 'retired'])), _connector='OR'), name='suggestion_table_published_at_with_by'),
        ),
        migrations.AddConstraint(
            model_name='suggestiontable',
            constraint=clubsetup.access.row_security.SameParent(name='suggestion_table_club', parent='team_id', shared='club_id', to='teams_team'),
        ),
        migrations.AddConstraint(
            model_name='suggestiontable',
            constraint=clubsetup.access.row_security.RowSecurity(add='((team_id IS NULL AND coach_id IS NULL AND club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR (team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND coach_id IS NULL) OR (coach_id = (SELECT access.viewer()) AND team_id IS NULL AND club_id = ANY ((SELECT access.coach_clubs())::uuid[])))', change='((team_id IS NULL AND coach_id IS NULL AND club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR (team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND coach_id IS NULL) OR (coach_id = (SELECT access.viewer()) AND team_id IS NULL AND club_id = ANY ((SELECT access.coach_clubs())::uuid[])))', change_columns=('state', 'note', 'published_at', 'published_by_id'), name='suggestion_table', read="((team_id IS NULL AND coach_id IS NULL AND (club_id = ANY ((SELECT access.steward_clubs())::uuid[]) OR (club_id = ANY ((SELECT access.member_clubs())::uuid[]) AND state <> 'draft'))) OR team_id = ANY ((SELECT access.reader_teams())::uuid[]) OR coach_id = (SELECT access.viewer()) OR id = ANY ((SELECT access.coached_tables())::uuid[]))"),
        ),
        migrations.AddIndex(
            model_name='suggestion',
            index=models.Index(fields=['club', 'id'], name='suggestion_of_club'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.UniqueConstraint(fields=('table', 'place', 'balance', 'hands', 'steering', 'surface', 'surface_state', 'adjuster', 'spot'), name='suggestion_once_for_a_feel'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('place__in', ['', 'entry', 'middle', 'exit'])), name='suggestion_place_known'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('balance__in', ['', 'pushes', 'turns', 'loose'])), name='suggestion_balance_known'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('hands__in', ['', 'right', 'straight', 'bit-left', 'far-left'])), name='suggestion_hands_known'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('steering__in', ['', 'light', 'good', 'heavy'])), name='suggestion_steering_known'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('surface__in', ['', 'paved', 'dirt'])), name='suggestion_surface_known'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('surface_state__in', ['', 'cold', 'warm', 'hot', 'damp', 'dusty', 'tacky', 'dry-slick'])), name='suggestion_surface_state_known'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('balance', ''), ('hands', ''), ('steering', ''), ('surface_state', ''), _negated=True), name='suggestion_for_something_felt'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('place', ''), models.Q(('balance', ''), _negated=True), _connector='OR'), name='suggestion_place_with_balance'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('amount', 0), _negated=True), name='suggestion_of_something'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('why', ''), _negated=True), name='suggestion_has_why'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=models.CheckConstraint(condition=models.Q(('minutes__gte', 1), ('minutes__lte', 480)), name='suggestion_minutes_sensible'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=clubsetup.access.row_security.SameParent(name='suggestion_club', parent='table_id', shared='club_id', to='cars_suggestiontable'),
        ),
        migrations.AddConstraint(
            model_name='suggestion',
            constraint=clubsetup.access.row_security.RowSecurity(add="EXISTS (SELECT FROM cars_suggestiontable t WHERE t.id = table_id AND t.state = 'draft' AND ((t.team_id IS NULL AND t.coach_id IS NULL AND t.club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR (t.team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND t.coach_id IS NULL) OR (t.coach_id = (SELECT access.viewer()) AND t.team_id IS NULL AND t.club_id = ANY ((SELECT access.coach_clubs())::uuid[]))))", change="EXISTS (SELECT FROM cars_suggestiontable t WHERE t.id = table_id AND t.state = 'draft' AND ((t.team_id IS NULL AND t.coach_id IS NULL AND t.club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR (t.team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND t.coach_id IS NULL) OR (t.coach_id = (SELECT access.viewer()) AND t.team_id IS NULL AND t.club_id = ANY ((SELECT access.coach_clubs())::uuid[]))))", change_columns=('place', 'balance', 'hands', 'steering', 'surface', 'surface_state', 'adjuster', 'spot', 'amount', 'unit', 'why', 'minutes', 'caution', 'source', 'source_note', 'position'), name='suggestion', read='EXISTS (SELECT FROM cars_suggestiontable t WHERE t.id = table_id)', remove="EXISTS (SELECT FROM cars_suggestiontable t WHERE t.id = table_id AND t.state = 'draft' AND ((t.team_id IS NULL AND t.coach_id IS NULL AND t.club_id = ANY ((SELECT access.steward_clubs())::uuid[])) OR (t.team_id = ANY ((SELECT access.crew_teams())::uuid[]) AND t.coach_id IS NULL) OR (t.coach_id = (SELECT access.viewer()) AND t.team_id IS NULL AND t.club_id = ANY ((SELECT access.coach_clubs())::uuid[]))))"),
        ),
        migrations.RunSQL(ERASING, migrations.RunSQL.noop),
    ]
