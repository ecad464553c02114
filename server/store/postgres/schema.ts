/**
 * The schema as it is made from nothing: tables and columns are those of the SQLite engine, so that the journal, whose
 * lines are made of columns, says the same of both. What differs, and why:
 *
 * - `dwelling_turn` stands for the lock that SQLite has on the whole file: see `Database.inTurn`.
 * - `reading` and `hour_record` are partitioned by time (`partitions.ts`).
 * - A `conflict` refers to its series, not to its reading, so that a partition of readings can be detached.
 * - The marks of stale hours come out of a sequence, so that homes do not wait for each other.
 * - The user names of devices are the whole installation's, and so in a table of their own (`device_name`).
 *
 * Every key leads with the dwelling, but in the tables of the installation, which are few and small: dwelling, installation,
 * last_dwelling, person, session, trail, quarantine, device_name.
 */
export const firstSchema = `
  -- text that is JSON, kept letter by letter: digests are made of it
  CREATE DOMAIN json_text AS text CHECK (VALUE IS NULL OR VALUE::json IS NOT NULL);

  CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS $$
  BEGIN
    RAISE EXCEPTION USING MESSAGE = TG_ARGV[0];
  END $$;

  CREATE TABLE dwelling (
    id integer PRIMARY KEY,
    slug text NOT NULL UNIQUE,
    name text NOT NULL,
    zone text NOT NULL,
    pitch_deg double precision NOT NULL,
    slope_length_mm double precision NOT NULL,
    room_height_mm double precision NOT NULL,
    lining_thickness_mm double precision NOT NULL,
    loft_insulation_mm double precision NOT NULL,
    eaves_gap_mm double precision NOT NULL,
    -- home: of people, and kept for ever. example: of invented data, and can be removed
    kind text NOT NULL DEFAULT 'home' CHECK (kind IN ('home', 'example')),
    leaving smallint NOT NULL DEFAULT 0 CHECK (leaving = 0 OR (leaving = 1 AND kind = 'example')),
    -- 1: somebody has kept the measures of the section since the dwelling was added
    section_confirmed smallint NOT NULL DEFAULT 0 CHECK (section_confirmed IN (0, 1))
  );
  CREATE TRIGGER dwelling_keeps_its_kind BEFORE UPDATE OF id, kind ON dwelling FOR EACH ROW
  WHEN (NEW.kind IS DISTINCT FROM OLD.kind OR NEW.id IS DISTINCT FROM OLD.id)
  EXECUTE FUNCTION refuse('a dwelling is an example from the beginning or never');
  CREATE TRIGGER home_is_never_deleted BEFORE DELETE ON dwelling FOR EACH ROW WHEN (OLD.leaving = 0)
  EXECUTE FUNCTION refuse('a home is never deleted; only an example that is being removed is');

  -- the last id given to a dwelling: what was known of one that is gone is never taken for another
  CREATE TABLE last_dwelling (id integer NOT NULL);
  INSERT INTO last_dwelling VALUES (0);

  -- lets go of what belongs to an example that is being removed, and of nothing else
  CREATE FUNCTION refuse_unless_leaving() RETURNS trigger LANGUAGE plpgsql AS $$
  BEGIN
    IF EXISTS (SELECT 1 FROM dwelling WHERE id = OLD.dwelling_id AND kind = 'example' AND leaving = 1) THEN
      RETURN OLD;
    END IF;
    RAISE EXCEPTION USING MESSAGE = TG_ARGV[0];
  END $$;

  -- whoever writes what belongs to a dwelling locks its row first; the version changes with what processes remember of it
  CREATE TABLE dwelling_turn (
    dwelling_id integer PRIMARY KEY REFERENCES dwelling (id),
    version integer NOT NULL DEFAULT 1
  );
  CREATE FUNCTION add_turn() RETURNS trigger LANGUAGE plpgsql AS $$
  BEGIN
    INSERT INTO dwelling_turn (dwelling_id) VALUES (NEW.id);
    RETURN NULL;
  END $$;
  CREATE TRIGGER dwelling_has_a_turn AFTER INSERT ON dwelling FOR EACH ROW EXECUTE FUNCTION add_turn();

  -- the last id given out for each noun of a dwelling, so that no id is ever used again
  CREATE TABLE last_id (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    noun text NOT NULL,
    id integer NOT NULL,
    PRIMARY KEY (dwelling_id, noun)
  );

  CREATE TABLE place (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    name text NOT NULL,
    kind text NOT NULL,
    faces_place_id integer,
    section_along double precision CHECK (section_along BETWEEN 0 AND 1),
    section_up double precision CHECK (section_up BETWEEN 0 AND 1),
    PRIMARY KEY (dwelling_id, id),
    FOREIGN KEY (dwelling_id, faces_place_id) REFERENCES place (dwelling_id, id) DEFERRABLE,
    CHECK ((section_up IS NULL) = (section_along IS NULL))
  );

  CREATE TABLE sensor (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    key text NOT NULL,
    name text NOT NULL,
    model text,
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, key)
  );

  CREATE TABLE placement (
    dwelling_id integer NOT NULL,
    id integer NOT NULL,
    sensor_id integer NOT NULL,
    place_id integer NOT NULL,
    from_time bigint NOT NULL,
    to_time bigint CHECK (to_time > from_time),
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, sensor_id, from_time),
    FOREIGN KEY (dwelling_id, sensor_id) REFERENCES sensor (dwelling_id, id),
    FOREIGN KEY (dwelling_id, place_id) REFERENCES place (dwelling_id, id)
  );

  CREATE TABLE series (
    dwelling_id integer NOT NULL,
    id integer NOT NULL,
    sensor_id integer NOT NULL,
    quantity text NOT NULL,
    interval_seconds integer CHECK (interval_seconds > 0),
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, sensor_id, quantity),
    FOREIGN KEY (dwelling_id, sensor_id) REFERENCES sensor (dwelling_id, id)
  );

  -- in the unit of the series
  CREATE TABLE reading (
    dwelling_id integer NOT NULL,
    series_id integer NOT NULL,
    time bigint NOT NULL,
    value double precision NOT NULL,
    PRIMARY KEY (dwelling_id, series_id, time),
    FOREIGN KEY (dwelling_id, series_id) REFERENCES series (dwelling_id, id)
  ) PARTITION BY RANGE (time);
  CREATE TRIGGER reading_is_never_changed BEFORE UPDATE ON reading FOR EACH ROW
  EXECUTE FUNCTION refuse('raw readings are never changed');
  CREATE TRIGGER reading_is_never_deleted BEFORE DELETE ON reading FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_leaving('raw readings are never deleted');
  CREATE TRIGGER reading_is_never_emptied BEFORE TRUNCATE ON reading FOR EACH STATEMENT
  EXECUTE FUNCTION refuse('raw readings are never deleted');

  -- another value for an instant that has one; the first stays in reading
  CREATE TABLE conflict (
    dwelling_id integer NOT NULL,
    series_id integer NOT NULL,
    time bigint NOT NULL,
    value double precision NOT NULL,
    received_at bigint NOT NULL,
    PRIMARY KEY (dwelling_id, series_id, time, value),
    FOREIGN KEY (dwelling_id, series_id) REFERENCES series (dwelling_id, id)
  );

  CREATE TABLE phase (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    kind text NOT NULL,
    name text NOT NULL,
    from_time bigint NOT NULL,
    to_time bigint CHECK (to_time > from_time),
    PRIMARY KEY (dwelling_id, id)
  );

  CREATE TABLE diary_entry (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    time bigint NOT NULL,
    kind text NOT NULL,
    text text NOT NULL,
    PRIMARY KEY (dwelling_id, id)
  );

  -- hours are counted from 1970, UTC
  CREATE TABLE hour_record (
    dwelling_id integer NOT NULL,
    place_id integer NOT NULL,
    hour integer NOT NULL,
    temperature_mean_c double precision,
    temperature_min_c double precision,
    temperature_max_c double precision,
    temperature_count integer NOT NULL,
    temperature_coverage double precision NOT NULL,
    humidity_mean_pct double precision,
    humidity_min_pct double precision,
    humidity_max_pct double precision,
    humidity_count integer NOT NULL,
    humidity_coverage double precision NOT NULL,
    humidity_clamped integer NOT NULL,
    vapour_pressure_pa double precision,
    dew_point_c double precision,
    margin_mean_k double precision,
    margin_min_k double precision,
    surface_humidity_mean_pct double precision,
    surface_humidity_max_pct double precision,
    factor_outdoor double precision,
    factor_loft double precision,
    risk_hour smallint CHECK (risk_hour IN (0, 1)),
    condensation_hour smallint CHECK (condensation_hour IN (0, 1)),
    timber_moisture_pct double precision,
    co2_ppm double precision,
    battery_v double precision,
    PRIMARY KEY (dwelling_id, place_id, hour),
    FOREIGN KEY (dwelling_id, place_id) REFERENCES place (dwelling_id, id)
  ) PARTITION BY RANGE (hour);

  -- hours whose records no longer match the readings
  CREATE TABLE stale_hour (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    hour integer NOT NULL,
    mark bigint NOT NULL,
    PRIMARY KEY (dwelling_id, hour)
  );
  -- no mark is ever used twice, also when an hour was rebuilt in between
  CREATE SEQUENCE stale_mark;

  CREATE TABLE quarantine (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    received_at bigint NOT NULL,
    source text NOT NULL,
    topic text COLLATE "C" NOT NULL,
    payload bytea NOT NULL,
    code text NOT NULL,
    message text NOT NULL,
    -- when the message was read in after all
    resolved_at bigint
  );
  -- topics may be longer than an index takes
  CREATE INDEX quarantine_by_topic ON quarantine (left(topic, 500), id);
  CREATE INDEX quarantine_unresolved ON quarantine (left(topic, 500), id) WHERE resolved_at IS NULL;

  -- one point is an offset, two are a line
  CREATE TABLE calibration (
    dwelling_id integer NOT NULL,
    id integer NOT NULL,
    series_id integer NOT NULL,
    from_time bigint NOT NULL,
    method text NOT NULL,
    reading_1 double precision NOT NULL,
    reference_1 double precision NOT NULL,
    reading_2 double precision CHECK (reading_2 <> reading_1),
    reference_2 double precision CHECK ((reference_2 IS NULL) = (reading_2 IS NULL)),
    uncertainty double precision NOT NULL CHECK (uncertainty > 0),
    shared_source text,
    shared_uncertainty double precision NOT NULL CHECK (shared_uncertainty BETWEEN 0 AND uncertainty),
    note text NOT NULL,
    made_at bigint NOT NULL,
    withdrawn_at bigint,
    PRIMARY KEY (dwelling_id, id),
    FOREIGN KEY (dwelling_id, series_id) REFERENCES series (dwelling_id, id)
  );
  CREATE FUNCTION refuse_unless_withdrawn() RETURNS trigger LANGUAGE plpgsql AS $$
  DECLARE withdrawn calibration := OLD;
  BEGIN
    withdrawn.withdrawn_at := NEW.withdrawn_at;
    IF OLD.withdrawn_at IS NULL AND NEW IS NOT DISTINCT FROM withdrawn THEN
      RETURN NEW;
    END IF;
    RAISE EXCEPTION 'a calibration is never changed; it can be withdrawn once';
  END $$;
  CREATE TRIGGER calibration_can_only_be_withdrawn BEFORE UPDATE ON calibration FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_withdrawn();
  CREATE TRIGGER calibration_is_never_deleted BEFORE DELETE ON calibration FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_leaving('a calibration is never deleted; it can be withdrawn');

  CREATE TABLE mapping (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    topic_pattern text NOT NULL,
    sensor_key text NOT NULL,
    -- array of {pointer, quantity, unit, scale, offset, sensorKey}, quantities by their names on the wire
    value_list json_text NOT NULL,
    time_pointer text,
    time_form text CHECK ((time_form IS NULL) = (time_pointer IS NULL)),
    PRIMARY KEY (dwelling_id, id)
  );

  -- what belongs to the installation and not to a dwelling; one row
  CREATE TABLE installation (
    id integer PRIMARY KEY CHECK (id = 1),
    secret_key bytea NOT NULL CHECK (length(secret_key) = 32)
  );

  CREATE TABLE recipient (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    name text NOT NULL,
    channel text NOT NULL CHECK (channel IN ('email', 'webhook')),
    address text NOT NULL,
    secret text CHECK ((secret IS NULL) = (channel <> 'webhook')),
    language text NOT NULL,
    -- array of codes of notices; null: all
    rule_codes json_text,
    minimum_severity text NOT NULL,
    quiet_from_minute integer CHECK (quiet_from_minute BETWEEN 0 AND 1439),
    quiet_to_minute integer CHECK (quiet_to_minute BETWEEN 0 AND 1439),
    -- array of codes of notices that break the quiet
    quiet_break_for json_text,
    weekly_summary smallint NOT NULL CHECK (weekly_summary IN (0, 1)),
    active smallint NOT NULL CHECK (active IN (0, 1)),
    unsubscribed_at bigint,
    daily_digest smallint NOT NULL DEFAULT 0 CHECK (daily_digest IN (0, 1)),
    PRIMARY KEY (dwelling_id, id),
    CHECK ((quiet_from_minute IS NULL) = (quiet_to_minute IS NULL)),
    CHECK ((quiet_from_minute IS NULL) = (quiet_break_for IS NULL))
  );

  CREATE TABLE outbox (
    dwelling_id integer NOT NULL,
    id text COLLATE "C" NOT NULL,
    -- order of writing
    turn integer NOT NULL,
    recipient_id integer NOT NULL,
    notice_id integer,
    event text NOT NULL,
    created_at bigint NOT NULL,
    not_before bigint NOT NULL,
    subject text NOT NULL,
    text text NOT NULL,
    data json_text NOT NULL,
    state text NOT NULL CHECK (state IN ('waiting', 'sending', 'sent', 'given-up', 'withdrawn')),
    attempts integer NOT NULL DEFAULT 0,
    -- since it was put in, or let wait again by hand
    attempts_in_row integer NOT NULL DEFAULT 0,
    trying_since bigint,
    next_at bigint NOT NULL,
    finished_at bigint CHECK ((finished_at IS NULL) = (state IN ('waiting', 'sending'))),
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, turn),
    FOREIGN KEY (dwelling_id, recipient_id) REFERENCES recipient (dwelling_id, id) ON DELETE CASCADE
  );
  CREATE INDEX outbox_open ON outbox (dwelling_id, recipient_id, state, not_before, turn)
    WHERE state IN ('waiting', 'sending');
  CREATE INDEX outbox_of_recipient ON outbox (dwelling_id, recipient_id, turn);
  CREATE INDEX outbox_finished ON outbox (finished_at) WHERE finished_at IS NOT NULL;

  CREATE TABLE delivery_attempt (
    dwelling_id integer NOT NULL,
    message_id text COLLATE "C" NOT NULL,
    number integer NOT NULL,
    started_at bigint NOT NULL,
    ended_at bigint,
    outcome text NOT NULL CHECK (outcome IN ('sent', 'failed-for-now', 'failed-for-good', 'unknown')),
    detail text NOT NULL,
    -- why it ended as it did
    code text NOT NULL DEFAULT 'not-ended',
    PRIMARY KEY (dwelling_id, message_id, number),
    FOREIGN KEY (dwelling_id, message_id) REFERENCES outbox (dwelling_id, id) ON DELETE CASCADE
  );

  CREATE TABLE photo (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    entry_id integer,
    alt text NOT NULL,
    taken_at bigint,
    sha256 text NOT NULL,
    width integer NOT NULL,
    height integer NOT NULL,
    added_at bigint NOT NULL,
    PRIMARY KEY (dwelling_id, id),
    FOREIGN KEY (dwelling_id, entry_id) REFERENCES diary_entry (dwelling_id, id) ON DELETE CASCADE
  );
  CREATE INDEX photo_of_entry ON photo (dwelling_id, entry_id);

  CREATE TABLE photo_image (
    dwelling_id integer NOT NULL,
    photo_id integer NOT NULL,
    size text NOT NULL CHECK (size IN ('full', 'thumbnail')),
    jpeg bytea NOT NULL,
    PRIMARY KEY (dwelling_id, photo_id, size),
    FOREIGN KEY (dwelling_id, photo_id) REFERENCES photo (dwelling_id, id) ON DELETE CASCADE
  );

  -- who may do what; of the whole install, not of a dwelling
  CREATE TABLE person (
    id integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name text NOT NULL,
    role text NOT NULL,
    passphrase_hash text NOT NULL,
    created_at bigint NOT NULL
  );
  -- letters of ASCII without regard to case
  CREATE UNIQUE INDEX person_name ON person (lower(name COLLATE "C"));

  CREATE TABLE session (
    id integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    person_id integer NOT NULL REFERENCES person (id),
    token_hash text NOT NULL UNIQUE,
    previous_hash text,
    started_at bigint NOT NULL,
    rotated_at bigint NOT NULL,
    used_at bigint NOT NULL,
    browser text NOT NULL
  );
  CREATE INDEX session_previous ON session (previous_hash) WHERE previous_hash IS NOT NULL;

  CREATE TABLE trail (
    id integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    at bigint NOT NULL,
    person_name text,
    dwelling_id integer,
    action text NOT NULL,
    detail json_text NOT NULL
  );
  CREATE TRIGGER trail_is_kept_as_it_is BEFORE UPDATE OR DELETE ON trail FOR EACH ROW
  EXECUTE FUNCTION refuse('the trail is append-only');
  CREATE TRIGGER trail_is_never_emptied BEFORE TRUNCATE ON trail FOR EACH STATEMENT
  EXECUTE FUNCTION refuse('the trail is append-only');

  CREATE TABLE device_account (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    username text NOT NULL,
    password_hash text NOT NULL,
    sensor_key text,
    created_at bigint NOT NULL,
    revoked_at bigint,
    PRIMARY KEY (dwelling_id, id)
  );
  -- a user name is taken in the whole install: it is put in here first
  CREATE TABLE device_name (
    username text PRIMARY KEY,
    dwelling_id integer NOT NULL
  );

  -- from when on the days of a dwelling are sealed, and the key of the digests that stand for names and notes in its journal
  CREATE TABLE sealing (
    dwelling_id integer PRIMARY KEY REFERENCES dwelling (id),
    -- days are UTC days counted from 1970; null: nothing has come yet
    first_day integer,
    text_key text NOT NULL
  );

  CREATE TABLE import_file (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    at bigint NOT NULL,
    name text NOT NULL,
    bytes bigint NOT NULL,
    file_digest text NOT NULL,
    stored bigint,
    stored_digest text CHECK ((stored_digest IS NULL) = (stored IS NULL)),
    PRIMARY KEY (dwelling_id, id)
  );

  -- readings of one series, ends included, that did not arrive on their own UTC day or came out of a file;
  -- of two that lie over each other the one of the higher id speaks
  CREATE TABLE arrival (
    dwelling_id integer NOT NULL,
    series_id integer NOT NULL,
    id integer NOT NULL,
    from_time bigint NOT NULL,
    to_time bigint NOT NULL CHECK (to_time >= from_time),
    day integer NOT NULL,
    import_id integer,
    PRIMARY KEY (dwelling_id, series_id, id),
    FOREIGN KEY (dwelling_id, series_id) REFERENCES series (dwelling_id, id),
    FOREIGN KEY (dwelling_id, import_id) REFERENCES import_file (dwelling_id, id)
  );

  -- what arrived in a day; its digests are of the lines in canonical.ts
  CREATE TABLE day_seal (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    day integer NOT NULL,
    readings integer NOT NULL,
    readings_digest text NOT NULL,
    first_change integer,
    last_change integer CHECK ((last_change IS NULL) = (first_change IS NULL)),
    changes_digest text NOT NULL,
    previous text NOT NULL,
    entry text NOT NULL,
    sealed_at bigint NOT NULL,
    PRIMARY KEY (dwelling_id, day)
  );

  CREATE TABLE series_seal (
    dwelling_id integer NOT NULL,
    day integer NOT NULL,
    sensor_id integer NOT NULL,
    quantity text NOT NULL,
    readings integer NOT NULL,
    first_time bigint NOT NULL,
    last_time bigint NOT NULL,
    digest bytea NOT NULL CHECK (length(digest) = 32),
    PRIMARY KEY (dwelling_id, day, sensor_id, quantity),
    FOREIGN KEY (dwelling_id, day) REFERENCES day_seal (dwelling_id, day)
  );

  -- every change to the story as it was made
  CREATE TABLE journal (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    at bigint NOT NULL,
    subject text NOT NULL,
    subject_id integer NOT NULL,
    content json_text NOT NULL,
    PRIMARY KEY (dwelling_id, id)
  );

  CREATE TRIGGER day_seal_is_never_changed BEFORE UPDATE ON day_seal FOR EACH ROW
  EXECUTE FUNCTION refuse('a sealed day is never changed');
  CREATE TRIGGER day_seal_is_never_deleted BEFORE DELETE ON day_seal FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_leaving('a sealed day is never deleted');
  CREATE TRIGGER series_seal_is_never_changed BEFORE UPDATE ON series_seal FOR EACH ROW
  EXECUTE FUNCTION refuse('a sealed day is never changed');
  CREATE TRIGGER series_seal_is_never_deleted BEFORE DELETE ON series_seal FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_leaving('a sealed day is never deleted');
  CREATE TRIGGER journal_is_never_changed BEFORE UPDATE ON journal FOR EACH ROW
  EXECUTE FUNCTION refuse('the journal is never changed');
  CREATE TRIGGER journal_is_never_deleted BEFORE DELETE ON journal FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_leaving('the journal is never deleted');
  CREATE TRIGGER arrival_is_never_deleted BEFORE DELETE ON arrival FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_leaving('an arrival is never deleted');
  CREATE FUNCTION refuse_unless_grown() RETURNS trigger LANGUAGE plpgsql AS $$
  DECLARE grown arrival := OLD;
  BEGIN
    grown.to_time := NEW.to_time;
    IF NEW.to_time >= OLD.to_time AND NEW IS NOT DISTINCT FROM grown
      AND NOT EXISTS (SELECT 1 FROM day_seal WHERE dwelling_id = OLD.dwelling_id AND day = OLD.day) THEN
      RETURN NEW;
    END IF;
    RAISE EXCEPTION 'an arrival only grows, and only until its day is sealed';
  END $$;
  CREATE TRIGGER arrival_only_grows_until_sealed BEFORE UPDATE ON arrival FOR EACH ROW
  EXECUTE FUNCTION refuse_unless_grown();

  -- events that were found by watching; what was found and told is the program's, acknowledged and snoozed are the people's
  CREATE TABLE notice (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    rule text NOT NULL,
    place_id integer,
    sensor_id integer,
    detail text NOT NULL,
    severity text NOT NULL,
    begun_at bigint NOT NULL,
    known_at bigint NOT NULL,
    ended_at bigint,
    end_known_at bigint CHECK ((end_known_at IS NULL) = (ended_at IS NULL)),
    end_reason text CHECK ((end_reason IS NULL) = (ended_at IS NULL)),
    chance double precision CHECK (chance BETWEEN 0 AND 1),
    data json_text NOT NULL,
    recorded_at bigint NOT NULL,
    withdrawn_at bigint,
    told json_text NOT NULL,
    acknowledged_at bigint,
    snoozed_until bigint,
    PRIMARY KEY (dwelling_id, id),
    FOREIGN KEY (dwelling_id, place_id) REFERENCES place (dwelling_id, id),
    FOREIGN KEY (dwelling_id, sensor_id) REFERENCES sensor (dwelling_id, id)
  );
  CREATE INDEX notice_open ON notice (dwelling_id, id) WHERE ended_at IS NULL;
  CREATE INDEX notice_ended ON notice (dwelling_id, end_known_at) WHERE ended_at IS NOT NULL;

  -- hours before evaluated_to have been judged; those from changed_from on were rebuilt since. UTC milliseconds
  CREATE TABLE watch_progress (
    dwelling_id integer PRIMARY KEY REFERENCES dwelling (id),
    evaluated_to bigint,
    changed_from bigint,
    mark bigint NOT NULL,
    summaries json_text NOT NULL DEFAULT '{}'
  );

  CREATE TABLE watch_setting (
    dwelling_id integer PRIMARY KEY REFERENCES dwelling (id),
    overrides json_text NOT NULL
  );

  -- build-ups before and after lining, as files of the lining command
  CREATE TABLE build_up (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    name text NOT NULL,
    document text NOT NULL,
    saved_at bigint NOT NULL,
    PRIMARY KEY (dwelling_id, id)
  );

  -- what was forecast of a night as of a local hour; scored from the hour records when the night is over
  CREATE TABLE kept_forecast (
    dwelling_id integer NOT NULL,
    place_id integer NOT NULL,
    night text COLLATE "C" NOT NULL,
    hour integer NOT NULL CHECK (hour BETWEEN 0 AND 23),
    made_at bigint NOT NULL,
    chance double precision NOT NULL CHECK (chance BETWEEN 0 AND 1),
    margin_k double precision NOT NULL,
    margin_low_k double precision NOT NULL,
    margin_high_k double precision NOT NULL,
    at_time bigint NOT NULL,
    basis text NOT NULL,
    PRIMARY KEY (dwelling_id, place_id, night, hour),
    FOREIGN KEY (dwelling_id, place_id) REFERENCES place (dwelling_id, id)
  );
  CREATE TRIGGER kept_forecast_is_never_changed BEFORE UPDATE ON kept_forecast FOR EACH ROW
  EXECUTE FUNCTION refuse('a forecast is kept as it was given');

  -- hourly lists from from_time on, JSON arrays with null where nothing is said
  CREATE TABLE outdoor_forecast (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    issued_at bigint NOT NULL,
    received_at bigint NOT NULL,
    from_time bigint NOT NULL,
    temperature_c_list json_text NOT NULL,
    vapour_pressure_pa_list json_text NOT NULL,
    PRIMARY KEY (dwelling_id, issued_at, received_at)
  );

  CREATE TABLE share_link (
    dwelling_id integer NOT NULL REFERENCES dwelling (id),
    id integer NOT NULL,
    token_hash text NOT NULL,
    label text NOT NULL,
    file_name text NOT NULL,
    created_at bigint NOT NULL,
    expires_at bigint NOT NULL,
    revoked_at bigint,
    opened integer NOT NULL,
    opened_at bigint,
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, token_hash)
  );
  CREATE INDEX share_link_by_token ON share_link (token_hash);
`;
