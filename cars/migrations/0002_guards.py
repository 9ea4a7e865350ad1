"""What is settled stays: closed sheets, published baselines, the catalogue."""

from django.db import migrations

from clubsetup.runtime.addresses import APP_ROLE

FORWARD = f"""
CREATE FUNCTION access.refuse_on_closed_sheet() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  -- The lock makes a reading and the closing of its sheet wait for each other.
  IF (SELECT state FROM cars_sheet WHERE id = NEW.sheet_id FOR SHARE) = 'closed' THEN
    RAISE EXCEPTION 'the sheet is closed' USING ERRCODE = 'check_violation', CONSTRAINT = 'sheet_is_closed';
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER sheet_is_closed BEFORE INSERT OR UPDATE ON cars_reading
  FOR EACH ROW EXECUTE FUNCTION access.refuse_on_closed_sheet();
CREATE TRIGGER sheet_is_closed BEFORE INSERT OR UPDATE ON cars_change
  FOR EACH ROW EXECUTE FUNCTION access.refuse_on_closed_sheet();

CREATE FUNCTION access.refuse_closed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'the sheet is closed' USING ERRCODE = 'check_violation', CONSTRAINT = 'sheet_is_closed';
END $$;
CREATE TRIGGER sheet_is_closed BEFORE UPDATE ON cars_sheet
  FOR EACH ROW WHEN (OLD.state = 'closed') EXECUTE FUNCTION access.refuse_closed();

CREATE FUNCTION access.refuse_on_published_baseline() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
  IF EXISTS (SELECT FROM cars_baseline WHERE state <> 'draft'
             AND id = COALESCE(NEW.baseline_id, OLD.baseline_id)) THEN
    RAISE EXCEPTION 'the baseline is published'
      USING ERRCODE = 'check_violation', CONSTRAINT = 'baseline_is_published';
  END IF;
  RETURN COALESCE(NEW, OLD);
END $$;
CREATE TRIGGER baseline_is_published BEFORE INSERT OR UPDATE OR DELETE ON cars_baselinevalue
  FOR EACH ROW EXECUTE FUNCTION access.refuse_on_published_baseline();

REVOKE INSERT, UPDATE, DELETE ON cars_step, cars_measure FROM {APP_ROLE};
"""


class Migration(migrations.Migration):
    dependencies = [("cars", "0001_initial")]
    operations = [migrations.RunSQL(FORWARD, migrations.RunSQL.noop)]
