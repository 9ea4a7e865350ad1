"""What teams run of a chassis, for the steward who keeps its baselines.

A steward sees no sheet. This answers one narrow question across that wall, and the rules stand in
it, not with its caller:

- Only a steward of the baseline's club gets an answer.
- A team speaks once: the median of its cars' latest closed sheets as left.
- Nothing is said of fewer than five teams. The steward's own team, and one that the steward
  coaches, are left out, so that knowing one of the five makes them no fewer.
- Only the middle and the width of the middle half are said, both rounded to two steps of the
  usual tool, the width never less than that: no figure of a team, no lowest, no highest.
- Only sheets closed before this week's Monday count. Asking before and after one sheet was closed
  says the same; from week to week several change together.
"""

from django.db import migrations

FORWARD = """
CREATE FUNCTION access.what_teams_run(given uuid)
RETURNS TABLE (measure text, spot text, teams integer, median numeric, spread numeric)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
#variable_conflict use_column
DECLARE
  base cars_baseline%ROWTYPE;
  monday timestamptz := date_trunc('week', now(), 'UTC');
  fewest constant integer := 5;
BEGIN
  SELECT b.* INTO base FROM cars_baseline b
  WHERE b.id = given AND b.club_id = ANY (access.steward_clubs());
  IF NOT FOUND THEN
    RETURN;
  END IF;
  RETURN QUERY
  WITH latest AS (
    SELECT DISTINCT ON (s.car_id) s.id, s.team_id
    FROM cars_sheet s JOIN cars_car c ON c.id = s.car_id
    WHERE c.chassis_id = base.chassis_id
      AND (base.race_class_id IS NULL OR c.race_class_id = base.race_class_id)
      AND s.surface = base.surface AND s.role = 'left'
      AND s.state = 'closed' AND s.closed_at < monday
      AND s.team_id <> ALL (access.setup_teams())
      AND NOT EXISTS (SELECT FROM cars_sheet n WHERE n.corrects_id = s.id
                      AND n.state = 'closed' AND n.closed_at < monday)
    ORDER BY s.car_id, s.made_on DESC, s.created_at DESC
  ), taken AS (
    SELECT l.id, l.team_id, r.measure_id::text AS measure, r.spot::text AS spot,
           avg(r.value) AS value
    FROM latest l JOIN cars_reading r ON r.sheet_id = l.id
    WHERE r.replaced_at IS NULL AND r.value IS NOT NULL
    GROUP BY 1, 2, 3, 4
  ), side_by_side AS (
    SELECT id, team_id,
      max(value) FILTER (WHERE measure = 'circumference' AND spot = 'LF') AS round_lf,
      max(value) FILTER (WHERE measure = 'circumference' AND spot = 'RF') AS round_rf,
      max(value) FILTER (WHERE measure = 'circumference' AND spot = 'LR') AS round_lr,
      max(value) FILTER (WHERE measure = 'circumference' AND spot = 'RR') AS round_rr,
      max(value) FILTER (WHERE measure = 'wheelbase' AND spot = 'left') AS base_left,
      max(value) FILTER (WHERE measure = 'wheelbase' AND spot = 'right') AS base_right,
      max(value) FILTER (WHERE measure = 'weight' AND spot = 'LF') AS lf,
      max(value) FILTER (WHERE measure = 'weight' AND spot = 'RF') AS rf,
      max(value) FILTER (WHERE measure = 'weight' AND spot = 'LR') AS lr,
      max(value) FILTER (WHERE measure = 'weight' AND spot = 'RR') AS rr
    FROM taken GROUP BY 1, 2
  ), computed AS (
    -- As cars/figures/derived.py computes them.
    SELECT w.team_id, d.measure, d.spot, d.value
    FROM side_by_side w CROSS JOIN LATERAL (VALUES
      ('stagger', 'front', round_rf - round_lf),
      ('stagger', 'rear', round_rr - round_lr),
      ('lead', 'car', base_right - base_left),
      ('total-weight', 'car', lf + rf + lr + rr),
      ('left-share', 'car', 100 * (lf + lr) / NULLIF(lf + rf + lr + rr, 0)),
      ('rear-share', 'car', 100 * (lr + rr) / NULLIF(lf + rf + lr + rr, 0)),
      ('cross', 'car', 100 * (rf + lr) / NULLIF(lf + rf + lr + rr, 0))
    ) AS d(measure, spot, value)
    WHERE d.value IS NOT NULL
  ), by_team AS (
    SELECT team_id, measure, spot,
           percentile_cont(0.5) WITHIN GROUP (ORDER BY value) AS value
    FROM (SELECT team_id, measure, spot, value FROM taken
          UNION ALL SELECT team_id, measure, spot, value FROM computed) AS every_figure
    GROUP BY 1, 2, 3
  ), over_teams AS (
    SELECT measure, spot, count(*)::integer AS teams,
           percentile_cont(0.5) WITHIN GROUP (ORDER BY value)::numeric AS middle,
           (percentile_cont(0.75) WITHIN GROUP (ORDER BY value)
            - percentile_cont(0.25) WITHIN GROUP (ORDER BY value))::numeric AS width
    FROM by_team GROUP BY 1, 2 HAVING count(*) >= fewest
  )
  SELECT o.measure, o.spot, o.teams,
         round(o.middle / g.grain) * g.grain,
         greatest(round(o.width / g.grain) * g.grain, g.grain)
  FROM over_teams o JOIN cars_measure m ON m.slug = o.measure
  CROSS JOIN LATERAL (SELECT 2 * COALESCE(NULLIF(m.tool_resolution, 0), CASE m.kind
    WHEN 'length' THEN 1.5875 WHEN 'percent' THEN 0.1 WHEN 'mass' THEN 0.25
    WHEN 'count' THEN 0.5 ELSE 0.5 END) AS grain) AS g;
END $$;
"""
BACK = "DROP FUNCTION access.what_teams_run(uuid);"


class Migration(migrations.Migration):
    dependencies = [("cars", "0007_parts_and_preferences")]
    operations = [migrations.RunSQL(FORWARD, BACK)]
