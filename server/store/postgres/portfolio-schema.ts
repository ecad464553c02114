/**
 * Many homes: what they are sorted by, the line of each, and who may see which. The columns are those of the SQLite engine;
 * `home_group`, `person_reach` and `person_of_group` are the installation's, and small. Texts are compared in lower case by
 * the rules of ICU, whatever the language of the database.
 */
export const portfolioSchema = `
  CREATE FUNCTION folded(text) RETURNS text LANGUAGE sql IMMUTABLE PARALLEL SAFE
  RETURN lower($1 COLLATE "und-x-icu");

  -- what homes are sorted by
  CREATE TABLE home_attribute (
    dwelling_id integer PRIMARY KEY REFERENCES dwelling (id),
    area text,
    build_type text
  );

  CREATE TABLE home_group (
    id integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name text NOT NULL UNIQUE
  );
  CREATE TABLE home_in_group (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    group_id integer NOT NULL,
    PRIMARY KEY (dwelling_id, group_id)
  );

  -- what the household of a home lets a landlord see; one holds at a time
  CREATE TABLE consent (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    scope text NOT NULL CHECK (scope IN ('summary', 'figures', 'report')),
    agreed_by text NOT NULL,
    recorded_by text,
    given_at bigint NOT NULL,
    withdrawn_at bigint,
    withdrawn_by text CHECK (withdrawn_by IS NULL OR withdrawn_at IS NOT NULL),
    PRIMARY KEY (dwelling_id, id)
  );
  CREATE UNIQUE INDEX consent_holds ON consent (dwelling_id) WHERE withdrawn_at IS NULL;
  CREATE TRIGGER consent_is_only_withdrawn BEFORE UPDATE ON consent FOR EACH ROW
  WHEN (OLD.withdrawn_at IS NOT NULL
    OR (NEW.dwelling_id, NEW.id, NEW.scope, NEW.agreed_by, NEW.recorded_by, NEW.given_at)
      IS DISTINCT FROM (OLD.dwelling_id, OLD.id, OLD.scope, OLD.agreed_by, OLD.recorded_by, OLD.given_at))
  EXECUTE FUNCTION refuse('a consent is kept as it was given, and can only be withdrawn');
  CREATE TRIGGER consent_is_kept BEFORE DELETE ON consent FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_leaving('a consent is kept, withdrawn or not');

  -- whom a person reaches; somebody of the household without a row reaches every home, a landlord without one none
  CREATE TABLE person_reach (
    person_id integer PRIMARY KEY,
    kind text NOT NULL CHECK (kind IN ('all', 'listed'))
  );
  CREATE TABLE person_in_home (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    person_id integer NOT NULL,
    PRIMARY KEY (dwelling_id, person_id)
  );
  CREATE TABLE person_of_group (
    group_id integer NOT NULL,
    person_id integer NOT NULL,
    PRIMARY KEY (group_id, person_id)
  );

  -- the line of a home in a list of many, as it was when it was worked out; derived, and can be worked out again
  CREATE TABLE home_summary (
    dwelling_id integer PRIMARY KEY REFERENCES dwelling (id),
    worked_out_at bigint NOT NULL,
    data_to bigint,
    night text,
    night_ends_at bigint,
    night_place text,
    chance double precision CHECK (chance BETWEEN 0 AND 1),
    margin_k double precision,
    margin_low_k double precision,
    margin_high_k double precision,
    likeliest_at bigint,
    assessed_at bigint,
    factor_place text,
    factor_phase text,
    factor double precision,
    factor_low double precision,
    factor_high double precision,
    factor_target double precision,
    factor_standing text,
    verdict text,
    verdict_place text,
    sensors integer NOT NULL,
    sensors_to_visit integer NOT NULL,
    visit_reasons json_text NOT NULL,
    too_cold smallint CHECK (too_cold IN (0, 1)),
    too_moist smallint CHECK (too_moist IN (0, 1))
  );
`;
