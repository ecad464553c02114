import { StoreError } from '../port.ts';
import { programVersion } from '../program-version.ts';
import { type Connection, write } from './database.ts';

/** Each entry takes the schema from its index to the next version. An entry that has been released never changes. */
export const migrations: readonly string[] = [
  `
  CREATE TABLE dwelling (
    id INTEGER PRIMARY KEY,
    slug TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    zone TEXT NOT NULL,
    pitch_deg REAL NOT NULL,
    slope_length_mm REAL NOT NULL,
    room_height_mm REAL NOT NULL,
    lining_thickness_mm REAL NOT NULL,
    loft_insulation_mm REAL NOT NULL,
    eaves_gap_mm REAL NOT NULL
  ) STRICT;

  -- the last id given out for each noun of a dwelling, so that no id is ever used again
  CREATE TABLE last_id (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    noun TEXT NOT NULL,
    id INTEGER NOT NULL,
    PRIMARY KEY (dwelling_id, noun)
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE place (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    faces_place_id INTEGER,
    PRIMARY KEY (dwelling_id, id),
    FOREIGN KEY (dwelling_id, faces_place_id) REFERENCES place (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE sensor (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    key TEXT NOT NULL,
    name TEXT NOT NULL,
    model TEXT,
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, key)
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE placement (
    dwelling_id INTEGER NOT NULL,
    id INTEGER NOT NULL,
    sensor_id INTEGER NOT NULL,
    place_id INTEGER NOT NULL,
    from_time INTEGER NOT NULL,
    to_time INTEGER CHECK (to_time > from_time),
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, sensor_id, from_time),
    FOREIGN KEY (dwelling_id, sensor_id) REFERENCES sensor (dwelling_id, id),
    FOREIGN KEY (dwelling_id, place_id) REFERENCES place (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE series (
    dwelling_id INTEGER NOT NULL,
    id INTEGER NOT NULL,
    sensor_id INTEGER NOT NULL,
    quantity TEXT NOT NULL,
    interval_seconds INTEGER CHECK (interval_seconds > 0),
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, sensor_id, quantity),
    FOREIGN KEY (dwelling_id, sensor_id) REFERENCES sensor (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  -- value: an INTEGER is thousandths of the unit of the series, a REAL is the unit itself
  CREATE TABLE reading (
    dwelling_id INTEGER NOT NULL,
    series_id INTEGER NOT NULL,
    time INTEGER NOT NULL,
    value ANY NOT NULL CHECK (typeof(value) IN ('integer', 'real')),
    PRIMARY KEY (dwelling_id, series_id, time),
    FOREIGN KEY (dwelling_id, series_id) REFERENCES series (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  CREATE TRIGGER reading_is_never_changed BEFORE UPDATE ON reading
  BEGIN SELECT raise(ABORT, 'raw readings are never changed'); END;

  CREATE TRIGGER reading_is_never_deleted BEFORE DELETE ON reading
  BEGIN SELECT raise(ABORT, 'raw readings are never deleted'); END;

  -- another value for an instant that has one; the first stays in reading
  CREATE TABLE conflict (
    dwelling_id INTEGER NOT NULL,
    series_id INTEGER NOT NULL,
    time INTEGER NOT NULL,
    value ANY NOT NULL CHECK (typeof(value) IN ('integer', 'real')),
    received_at INTEGER NOT NULL,
    PRIMARY KEY (dwelling_id, series_id, time, value),
    FOREIGN KEY (dwelling_id, series_id, time) REFERENCES reading (dwelling_id, series_id, time)
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE phase (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    from_time INTEGER NOT NULL,
    to_time INTEGER CHECK (to_time > from_time),
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE diary_entry (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    time INTEGER NOT NULL,
    kind TEXT NOT NULL,
    text TEXT NOT NULL,
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  -- hours are counted from 1970, UTC
  CREATE TABLE hour_record (
    dwelling_id INTEGER NOT NULL,
    place_id INTEGER NOT NULL,
    hour INTEGER NOT NULL,
    temperature_mean_c REAL,
    temperature_min_c REAL,
    temperature_max_c REAL,
    temperature_count INTEGER NOT NULL,
    temperature_coverage REAL NOT NULL,
    humidity_mean_pct REAL,
    humidity_min_pct REAL,
    humidity_max_pct REAL,
    humidity_count INTEGER NOT NULL,
    humidity_coverage REAL NOT NULL,
    humidity_clamped INTEGER NOT NULL,
    vapour_pressure_pa REAL,
    dew_point_c REAL,
    margin_mean_k REAL,
    margin_min_k REAL,
    surface_humidity_mean_pct REAL,
    surface_humidity_max_pct REAL,
    factor_outdoor REAL,
    factor_loft REAL,
    risk_hour INTEGER CHECK (risk_hour IN (0, 1)),
    condensation_hour INTEGER CHECK (condensation_hour IN (0, 1)),
    timber_moisture_pct REAL,
    co2_ppm REAL,
    battery_v REAL,
    PRIMARY KEY (dwelling_id, place_id, hour),
    FOREIGN KEY (dwelling_id, place_id) REFERENCES place (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  -- hours whose records no longer match the readings
  CREATE TABLE stale_hour (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    hour INTEGER NOT NULL,
    mark INTEGER NOT NULL,
    PRIMARY KEY (dwelling_id, hour)
  ) STRICT, WITHOUT ROWID;

  -- the last mark given out: no mark is ever used twice, also when an hour was rebuilt in between
  CREATE TABLE last_mark (mark INTEGER NOT NULL) STRICT;
  INSERT INTO last_mark VALUES (0);

  CREATE TABLE quarantine (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    received_at INTEGER NOT NULL,
    source TEXT NOT NULL,
    topic TEXT NOT NULL,
    payload BLOB NOT NULL,
    code TEXT NOT NULL,
    message TEXT NOT NULL
  ) STRICT;
  CREATE INDEX quarantine_by_topic ON quarantine (topic, code, received_at);
  `,
  `
  -- one point is an offset, two are a line
  CREATE TABLE calibration (
    dwelling_id INTEGER NOT NULL,
    id INTEGER NOT NULL,
    series_id INTEGER NOT NULL,
    from_time INTEGER NOT NULL,
    method TEXT NOT NULL,
    reading_1 REAL NOT NULL,
    reference_1 REAL NOT NULL,
    reading_2 REAL CHECK (reading_2 <> reading_1),
    reference_2 REAL CHECK ((reference_2 IS NULL) = (reading_2 IS NULL)),
    uncertainty REAL NOT NULL CHECK (uncertainty > 0),
    shared_source TEXT,
    shared_uncertainty REAL NOT NULL CHECK (shared_uncertainty BETWEEN 0 AND uncertainty),
    note TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    withdrawn_at INTEGER,
    PRIMARY KEY (dwelling_id, id),
    FOREIGN KEY (dwelling_id, series_id) REFERENCES series (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  CREATE TRIGGER calibration_can_only_be_withdrawn BEFORE UPDATE ON calibration
  WHEN OLD.withdrawn_at IS NOT NULL
    OR (NEW.dwelling_id, NEW.id, NEW.series_id, NEW.from_time, NEW.method, NEW.reading_1, NEW.reference_1, NEW.reading_2,
        NEW.reference_2, NEW.uncertainty, NEW.shared_source, NEW.shared_uncertainty, NEW.note, NEW.made_at)
      IS NOT
       (OLD.dwelling_id, OLD.id, OLD.series_id, OLD.from_time, OLD.method, OLD.reading_1, OLD.reference_1, OLD.reading_2,
        OLD.reference_2, OLD.uncertainty, OLD.shared_source, OLD.shared_uncertainty, OLD.note, OLD.made_at)
  BEGIN SELECT raise(ABORT, 'a calibration is never changed; it can be withdrawn once'); END;

  CREATE TRIGGER calibration_is_never_deleted BEFORE DELETE ON calibration
  BEGIN SELECT raise(ABORT, 'a calibration is never deleted; it can be withdrawn'); END;
  `,
  `
  CREATE TABLE mapping (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    topic_pattern TEXT NOT NULL,
    sensor_key TEXT NOT NULL,
    -- JSON array of {pointer, quantity, unit, scale, offset, sensorKey}, quantities by their names on the wire
    value_list TEXT NOT NULL CHECK (json_valid(value_list)),
    time_pointer TEXT,
    time_form TEXT CHECK ((time_form IS NULL) = (time_pointer IS NULL)),
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  -- when the message was read in after all
  ALTER TABLE quarantine ADD COLUMN resolved_at INTEGER;
  DROP INDEX quarantine_by_topic;
  CREATE INDEX quarantine_by_topic ON quarantine (topic);
  CREATE INDEX quarantine_unresolved ON quarantine (topic) WHERE resolved_at IS NULL;
  CREATE INDEX quarantine_groups ON quarantine (topic, code, received_at) WHERE resolved_at IS NULL;
  `,
  `
  -- what belongs to the installation and not to a dwelling; one row
  CREATE TABLE installation (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    secret_key BLOB NOT NULL CHECK (length(secret_key) = 32)
  ) STRICT;

  CREATE TABLE recipient (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    name TEXT NOT NULL,
    channel TEXT NOT NULL CHECK (channel IN ('email', 'webhook')),
    address TEXT NOT NULL,
    secret TEXT CHECK ((secret IS NULL) = (channel <> 'webhook')),
    language TEXT NOT NULL,
    -- JSON array of codes of notices; null: all
    rule_codes TEXT CHECK (json_valid(rule_codes)),
    minimum_severity TEXT NOT NULL,
    quiet_from_minute INTEGER CHECK (quiet_from_minute BETWEEN 0 AND 1439),
    quiet_to_minute INTEGER CHECK (quiet_to_minute BETWEEN 0 AND 1439),
    -- JSON array of codes of notices that break the quiet
    quiet_break_for TEXT CHECK (json_valid(quiet_break_for)),
    weekly_summary INTEGER NOT NULL CHECK (weekly_summary IN (0, 1)),
    active INTEGER NOT NULL CHECK (active IN (0, 1)),
    unsubscribed_at INTEGER,
    PRIMARY KEY (dwelling_id, id),
    CHECK ((quiet_from_minute IS NULL) = (quiet_to_minute IS NULL)),
    CHECK ((quiet_from_minute IS NULL) = (quiet_break_for IS NULL))
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE outbox (
    dwelling_id INTEGER NOT NULL,
    id TEXT NOT NULL,
    -- order of writing
    turn INTEGER NOT NULL,
    recipient_id INTEGER NOT NULL,
    notice_id INTEGER,
    event TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    not_before INTEGER NOT NULL,
    subject TEXT NOT NULL,
    text TEXT NOT NULL,
    data TEXT NOT NULL CHECK (json_valid(data)),
    state TEXT NOT NULL CHECK (state IN ('waiting', 'sending', 'sent', 'given-up', 'withdrawn')),
    attempts INTEGER NOT NULL DEFAULT 0,
    -- since it was put in, or let wait again by hand
    attempts_in_row INTEGER NOT NULL DEFAULT 0,
    trying_since INTEGER,
    next_at INTEGER NOT NULL,
    finished_at INTEGER CHECK ((finished_at IS NULL) = (state IN ('waiting', 'sending'))),
    PRIMARY KEY (dwelling_id, id),
    UNIQUE (dwelling_id, turn),
    FOREIGN KEY (dwelling_id, recipient_id) REFERENCES recipient (dwelling_id, id) ON DELETE CASCADE
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX outbox_open ON outbox (dwelling_id, recipient_id, state, not_before, turn)
    WHERE state IN ('waiting', 'sending');
  CREATE INDEX outbox_of_recipient ON outbox (dwelling_id, recipient_id, turn);
  CREATE INDEX outbox_finished ON outbox (finished_at) WHERE finished_at IS NOT NULL;

  CREATE TABLE delivery_attempt (
    dwelling_id INTEGER NOT NULL,
    message_id TEXT NOT NULL,
    number INTEGER NOT NULL,
    started_at INTEGER NOT NULL,
    ended_at INTEGER,
    outcome TEXT NOT NULL CHECK (outcome IN ('sent', 'failed-for-now', 'failed-for-good', 'unknown')),
    detail TEXT NOT NULL,
    PRIMARY KEY (dwelling_id, message_id, number),
    FOREIGN KEY (dwelling_id, message_id) REFERENCES outbox (dwelling_id, id) ON DELETE CASCADE
  ) STRICT, WITHOUT ROWID;
  `,
  `
  -- home: of people, and kept for ever. example: of invented data, and can be removed
  ALTER TABLE dwelling ADD COLUMN kind TEXT NOT NULL DEFAULT 'home' CHECK (kind IN ('home', 'example'));
  ALTER TABLE dwelling ADD COLUMN leaving INTEGER NOT NULL DEFAULT 0
    CHECK (leaving = 0 OR (leaving = 1 AND kind = 'example'));

  CREATE TRIGGER dwelling_keeps_its_kind BEFORE UPDATE OF id, kind ON dwelling
  WHEN NEW.kind IS NOT OLD.kind OR NEW.id IS NOT OLD.id
  BEGIN SELECT raise(ABORT, 'a dwelling is an example from the beginning or never'); END;

  CREATE TRIGGER home_is_never_deleted BEFORE DELETE ON dwelling WHEN OLD.leaving = 0
  BEGIN SELECT raise(ABORT, 'a home is never deleted; only an example that is being removed is'); END;

  DROP TRIGGER reading_is_never_deleted;
  CREATE TRIGGER reading_is_never_deleted BEFORE DELETE ON reading
  WHEN NOT EXISTS (SELECT 1 FROM dwelling WHERE id = OLD.dwelling_id AND kind = 'example' AND leaving = 1)
  BEGIN SELECT raise(ABORT, 'raw readings are never deleted'); END;

  DROP TRIGGER calibration_is_never_deleted;
  CREATE TRIGGER calibration_is_never_deleted BEFORE DELETE ON calibration
  WHEN NOT EXISTS (SELECT 1 FROM dwelling WHERE id = OLD.dwelling_id AND kind = 'example' AND leaving = 1)
  BEGIN SELECT raise(ABORT, 'a calibration is never deleted; it can be withdrawn'); END;

  -- the last id given to a dwelling: what was known of one that is gone is never taken for another
  CREATE TABLE last_dwelling (id INTEGER NOT NULL) STRICT;
  INSERT INTO last_dwelling SELECT coalesce(max(id), 0) FROM dwelling;

  CREATE TABLE photo (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    entry_id INTEGER,
    alt TEXT NOT NULL,
    taken_at INTEGER,
    sha256 TEXT NOT NULL,
    width INTEGER NOT NULL,
    height INTEGER NOT NULL,
    added_at INTEGER NOT NULL,
    PRIMARY KEY (dwelling_id, id),
    FOREIGN KEY (dwelling_id, entry_id) REFERENCES diary_entry (dwelling_id, id) ON DELETE CASCADE
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX photo_of_entry ON photo (dwelling_id, entry_id);

  CREATE TABLE photo_image (
    dwelling_id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    size TEXT NOT NULL CHECK (size IN ('full', 'thumbnail')),
    jpeg BLOB NOT NULL,
    PRIMARY KEY (dwelling_id, photo_id, size),
    FOREIGN KEY (dwelling_id, photo_id) REFERENCES photo (dwelling_id, id) ON DELETE CASCADE
  ) STRICT;
  `,
  `
  -- why an attempt ended as it did
  ALTER TABLE delivery_attempt ADD COLUMN code TEXT NOT NULL DEFAULT 'not-ended';
  `,
  `
  -- who may do what; of the whole install, not of a dwelling
  CREATE TABLE person (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL COLLATE NOCASE UNIQUE,
    role TEXT NOT NULL,
    passphrase_hash TEXT NOT NULL,
    created_at INTEGER NOT NULL
  ) STRICT;

  CREATE TABLE session (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    person_id INTEGER NOT NULL REFERENCES person (id),
    token_hash TEXT NOT NULL UNIQUE,
    previous_hash TEXT,
    started_at INTEGER NOT NULL,
    rotated_at INTEGER NOT NULL,
    used_at INTEGER NOT NULL,
    browser TEXT NOT NULL
  ) STRICT;
  CREATE INDEX session_previous ON session (previous_hash) WHERE previous_hash IS NOT NULL;

  CREATE TABLE trail (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at INTEGER NOT NULL,
    person_name TEXT,
    dwelling_id INTEGER,
    action TEXT NOT NULL,
    detail TEXT NOT NULL CHECK (json_valid(detail))
  ) STRICT;
  CREATE TRIGGER trail_is_kept_as_it_is BEFORE UPDATE ON trail
    BEGIN SELECT RAISE(ABORT, 'the trail is append-only'); END;
  CREATE TRIGGER trail_is_kept BEFORE DELETE ON trail
    BEGIN SELECT RAISE(ABORT, 'the trail is append-only'); END;

  CREATE TABLE device_account (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    username TEXT NOT NULL UNIQUE,
    password_hash TEXT NOT NULL,
    sensor_key TEXT,
    created_at INTEGER NOT NULL,
    revoked_at INTEGER,
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;
  `,
  `
  -- from when on the days of a dwelling are sealed, and the key of the digests that stand for names and notes in its journal
  CREATE TABLE sealing (
    dwelling_id INTEGER PRIMARY KEY REFERENCES dwelling (id),
    -- days are UTC days counted from 1970; null: nothing has come yet
    first_day INTEGER,
    text_key TEXT NOT NULL
  ) STRICT;

  CREATE TABLE import_file (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    at INTEGER NOT NULL,
    name TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    file_digest TEXT NOT NULL,
    stored INTEGER,
    stored_digest TEXT CHECK ((stored_digest IS NULL) = (stored IS NULL)),
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  -- readings of one series, ends included, that did not arrive on their own UTC day or came out of a file;
  -- of two that lie over each other the one of the higher id speaks
  CREATE TABLE arrival (
    dwelling_id INTEGER NOT NULL,
    series_id INTEGER NOT NULL,
    id INTEGER NOT NULL,
    from_time INTEGER NOT NULL,
    to_time INTEGER NOT NULL CHECK (to_time >= from_time),
    day INTEGER NOT NULL,
    import_id INTEGER,
    PRIMARY KEY (dwelling_id, series_id, id),
    FOREIGN KEY (dwelling_id, series_id) REFERENCES series (dwelling_id, id),
    FOREIGN KEY (dwelling_id, import_id) REFERENCES import_file (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  -- what arrived in a day; its digests are of the lines in canonical.ts
  CREATE TABLE day_seal (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    day INTEGER NOT NULL,
    readings INTEGER NOT NULL,
    readings_digest TEXT NOT NULL,
    first_change INTEGER,
    last_change INTEGER CHECK ((last_change IS NULL) = (first_change IS NULL)),
    changes_digest TEXT NOT NULL,
    previous TEXT NOT NULL,
    entry TEXT NOT NULL,
    sealed_at INTEGER NOT NULL,
    PRIMARY KEY (dwelling_id, day)
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE series_seal (
    dwelling_id INTEGER NOT NULL,
    day INTEGER NOT NULL,
    sensor_id INTEGER NOT NULL,
    quantity TEXT NOT NULL,
    readings INTEGER NOT NULL,
    first_time INTEGER NOT NULL,
    last_time INTEGER NOT NULL,
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    PRIMARY KEY (dwelling_id, day, sensor_id, quantity),
    FOREIGN KEY (dwelling_id, day) REFERENCES day_seal (dwelling_id, day)
  ) STRICT, WITHOUT ROWID;

  -- every change to the story as it was made
  CREATE TABLE journal (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    at INTEGER NOT NULL,
    subject TEXT NOT NULL,
    subject_id INTEGER NOT NULL,
    content TEXT NOT NULL CHECK (json_valid(content)),
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;

  CREATE TRIGGER day_seal_is_never_changed BEFORE UPDATE ON day_seal
  BEGIN SELECT raise(ABORT, 'a sealed day is never changed'); END;
  CREATE TRIGGER day_seal_is_never_deleted BEFORE DELETE ON day_seal
  WHEN NOT EXISTS (SELECT 1 FROM dwelling WHERE id = OLD.dwelling_id AND leaving = 1)
  BEGIN SELECT raise(ABORT, 'a sealed day is never deleted'); END;
  CREATE TRIGGER series_seal_is_never_changed BEFORE UPDATE ON series_seal
  BEGIN SELECT raise(ABORT, 'a sealed day is never changed'); END;
  CREATE TRIGGER series_seal_is_never_deleted BEFORE DELETE ON series_seal
  WHEN NOT EXISTS (SELECT 1 FROM dwelling WHERE id = OLD.dwelling_id AND leaving = 1)
  BEGIN SELECT raise(ABORT, 'a sealed day is never deleted'); END;
  CREATE TRIGGER journal_is_never_changed BEFORE UPDATE ON journal
  BEGIN SELECT raise(ABORT, 'the journal is never changed'); END;
  CREATE TRIGGER journal_is_never_deleted BEFORE DELETE ON journal
  WHEN NOT EXISTS (SELECT 1 FROM dwelling WHERE id = OLD.dwelling_id AND leaving = 1)
  BEGIN SELECT raise(ABORT, 'the journal is never deleted'); END;
  CREATE TRIGGER arrival_is_never_deleted BEFORE DELETE ON arrival
  WHEN NOT EXISTS (SELECT 1 FROM dwelling WHERE id = OLD.dwelling_id AND leaving = 1)
  BEGIN SELECT raise(ABORT, 'an arrival is never deleted'); END;
  CREATE TRIGGER arrival_only_grows_until_sealed BEFORE UPDATE ON arrival
  WHEN NEW.to_time < OLD.to_time
    OR (NEW.dwelling_id, NEW.series_id, NEW.id, NEW.from_time, NEW.day, NEW.import_id)
      IS NOT (OLD.dwelling_id, OLD.series_id, OLD.id, OLD.from_time, OLD.day, OLD.import_id)
    OR EXISTS (SELECT 1 FROM day_seal WHERE day_seal.dwelling_id = OLD.dwelling_id AND day_seal.day = OLD.day)
  BEGIN SELECT raise(ABORT, 'an arrival only grows, and only until its day is sealed'); END;
  `,
  `
  -- where on the drawn section a place is, shares of the room for its kind; both NULL: where its kind usually is
  ALTER TABLE place ADD COLUMN section_along REAL CHECK (section_along BETWEEN 0 AND 1);
  ALTER TABLE place ADD COLUMN section_up REAL CHECK (section_up BETWEEN 0 AND 1 AND (section_up IS NULL) = (section_along IS NULL));
  `,
  `
  -- events that were found by watching; what was found and told is the program's, acknowledged and snoozed are the people's
  CREATE TABLE notice (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    rule TEXT NOT NULL,
    place_id INTEGER,
    sensor_id INTEGER,
    detail TEXT NOT NULL,
    severity TEXT NOT NULL,
    begun_at INTEGER NOT NULL,
    known_at INTEGER NOT NULL,
    ended_at INTEGER,
    end_known_at INTEGER CHECK ((end_known_at IS NULL) = (ended_at IS NULL)),
    end_reason TEXT CHECK ((end_reason IS NULL) = (ended_at IS NULL)),
    chance REAL CHECK (chance BETWEEN 0 AND 1),
    data TEXT NOT NULL CHECK (json_valid(data)),
    recorded_at INTEGER NOT NULL,
    withdrawn_at INTEGER,
    told TEXT NOT NULL CHECK (json_valid(told)),
    acknowledged_at INTEGER,
    snoozed_until INTEGER,
    PRIMARY KEY (dwelling_id, id),
    FOREIGN KEY (dwelling_id, place_id) REFERENCES place (dwelling_id, id),
    FOREIGN KEY (dwelling_id, sensor_id) REFERENCES sensor (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX notice_open ON notice (dwelling_id, id) WHERE ended_at IS NULL;
  CREATE INDEX notice_ended ON notice (dwelling_id, end_known_at) WHERE ended_at IS NOT NULL;

  -- hours before evaluated_to have been judged; those from changed_from on were rebuilt since. UTC milliseconds
  CREATE TABLE watch_progress (
    dwelling_id INTEGER PRIMARY KEY REFERENCES dwelling (id),
    evaluated_to INTEGER,
    changed_from INTEGER,
    mark INTEGER NOT NULL,
    summaries TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(summaries))
  ) STRICT;

  CREATE TABLE watch_setting (
    dwelling_id INTEGER PRIMARY KEY REFERENCES dwelling (id),
    overrides TEXT NOT NULL CHECK (json_valid(overrides))
  ) STRICT;
  `,
  // build-ups before and after lining, as files of the lining command
  `
  CREATE TABLE build_up (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    name TEXT NOT NULL,
    document TEXT NOT NULL,
    saved_at INTEGER NOT NULL,
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;
  `,
  `
  -- what was forecast of a night as of a local hour; scored from the hour records when the night is over
  CREATE TABLE kept_forecast (
    dwelling_id INTEGER NOT NULL,
    place_id INTEGER NOT NULL,
    night TEXT NOT NULL,
    hour INTEGER NOT NULL CHECK (hour BETWEEN 0 AND 23),
    made_at INTEGER NOT NULL,
    chance REAL NOT NULL CHECK (chance BETWEEN 0 AND 1),
    margin_k REAL NOT NULL,
    margin_low_k REAL NOT NULL,
    margin_high_k REAL NOT NULL,
    at_time INTEGER NOT NULL,
    basis TEXT NOT NULL,
    PRIMARY KEY (dwelling_id, place_id, night, hour),
    FOREIGN KEY (dwelling_id, place_id) REFERENCES place (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;
  CREATE TRIGGER kept_forecast_is_never_changed BEFORE UPDATE ON kept_forecast
  BEGIN SELECT raise(ABORT, 'a forecast is kept as it was given'); END;

  -- hourly lists from from_time on, JSON arrays with null where nothing is said
  CREATE TABLE outdoor_forecast (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    issued_at INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    from_time INTEGER NOT NULL,
    temperature_c_list TEXT NOT NULL CHECK (json_valid(temperature_c_list)),
    vapour_pressure_pa_list TEXT NOT NULL CHECK (json_valid(vapour_pressure_pa_list)),
    PRIMARY KEY (dwelling_id, issued_at, received_at)
  ) STRICT, WITHOUT ROWID;
  `,
  `
  CREATE TABLE share_link (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    token_hash TEXT NOT NULL UNIQUE,
    label TEXT NOT NULL,
    file_name TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    revoked_at INTEGER,
    opened INTEGER NOT NULL,
    opened_at INTEGER,
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;
  `,
  `
  -- 1: somebody has kept the measures of the section since the dwelling was added
  ALTER TABLE dwelling ADD COLUMN section_confirmed INTEGER NOT NULL DEFAULT 0 CHECK (section_confirmed IN (0, 1));
  `,
  `
  ALTER TABLE recipient ADD COLUMN daily_digest INTEGER NOT NULL DEFAULT 0 CHECK (daily_digest IN (0, 1));
  `,
  `
  -- messages that were not kept because quarantine held as much as it may, since it was last emptied
  CREATE TABLE quarantine_not_kept (
    sender TEXT PRIMARY KEY,
    messages INTEGER NOT NULL,
    first_at INTEGER NOT NULL,
    last_at INTEGER NOT NULL
  ) STRICT, WITHOUT ROWID;
  `,
  `
  -- what homes are sorted by
  CREATE TABLE home_attribute (
    dwelling_id INTEGER PRIMARY KEY REFERENCES dwelling (id),
    area TEXT,
    build_type TEXT
  ) STRICT;

  -- of the whole install
  CREATE TABLE home_group (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE
  ) STRICT;
  CREATE TABLE home_in_group (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    group_id INTEGER NOT NULL,
    PRIMARY KEY (dwelling_id, group_id)
  ) STRICT, WITHOUT ROWID;

  -- what the household of a home lets a landlord see; one holds at a time
  CREATE TABLE consent (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    id INTEGER NOT NULL,
    scope TEXT NOT NULL CHECK (scope IN ('summary', 'figures', 'report')),
    agreed_by TEXT NOT NULL,
    recorded_by TEXT,
    given_at INTEGER NOT NULL,
    withdrawn_at INTEGER,
    withdrawn_by TEXT CHECK (withdrawn_by IS NULL OR withdrawn_at IS NOT NULL),
    PRIMARY KEY (dwelling_id, id)
  ) STRICT, WITHOUT ROWID;
  CREATE UNIQUE INDEX consent_holds ON consent (dwelling_id) WHERE withdrawn_at IS NULL;
  CREATE TRIGGER consent_is_only_withdrawn BEFORE UPDATE ON consent
  WHEN OLD.withdrawn_at IS NOT NULL
    OR (NEW.dwelling_id, NEW.id, NEW.scope, NEW.agreed_by, NEW.recorded_by, NEW.given_at)
      IS NOT (OLD.dwelling_id, OLD.id, OLD.scope, OLD.agreed_by, OLD.recorded_by, OLD.given_at)
  BEGIN SELECT raise(ABORT, 'a consent is kept as it was given, and can only be withdrawn'); END;
  CREATE TRIGGER consent_is_kept BEFORE DELETE ON consent
  WHEN NOT EXISTS (SELECT 1 FROM dwelling WHERE id = OLD.dwelling_id AND leaving = 1)
  BEGIN SELECT raise(ABORT, 'a consent is kept, withdrawn or not'); END;

  -- whom a person reaches; somebody of the household without a row reaches every home, a landlord without one none
  CREATE TABLE person_reach (
    person_id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('all', 'listed'))
  ) STRICT;
  CREATE TABLE person_in_home (
    dwelling_id INTEGER NOT NULL REFERENCES dwelling (id),
    person_id INTEGER NOT NULL,
    PRIMARY KEY (dwelling_id, person_id)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE person_of_group (
    group_id INTEGER NOT NULL,
    person_id INTEGER NOT NULL,
    PRIMARY KEY (group_id, person_id)
  ) STRICT, WITHOUT ROWID;

  -- the line of a home in a list of many, as it was when it was worked out; derived, and can be worked out again
  CREATE TABLE home_summary (
    dwelling_id INTEGER PRIMARY KEY REFERENCES dwelling (id),
    worked_out_at INTEGER NOT NULL,
    data_to INTEGER,
    night TEXT,
    night_ends_at INTEGER,
    night_place TEXT,
    chance REAL CHECK (chance BETWEEN 0 AND 1),
    margin_k REAL,
    margin_low_k REAL,
    margin_high_k REAL,
    likeliest_at INTEGER,
    assessed_at INTEGER,
    factor_place TEXT,
    factor_phase TEXT,
    factor REAL,
    factor_low REAL,
    factor_high REAL,
    factor_target REAL,
    factor_standing TEXT,
    verdict TEXT,
    verdict_place TEXT,
    sensors INTEGER NOT NULL,
    sensors_to_visit INTEGER NOT NULL,
    visit_reasons TEXT NOT NULL CHECK (json_valid(visit_reasons)),
    too_cold INTEGER CHECK (too_cold IN (0, 1)),
    too_moist INTEGER CHECK (too_moist IN (0, 1))
  ) STRICT;
  `,
];

const readVersion = (db: Connection): number => db.pragma('user_version', { simple: true }) as number;

/**
 * Brings the schema to the version this program knows, one transaction a step.
 *
 * @throws StoreError `newer-schema` when the file was written by a newer program; nothing is changed then
 */
export function migrate(db: Connection, steps: readonly string[] = migrations): void {
  refuseNewer(readVersion(db), steps.length);
  refuseForeign(db);
  for (const [from, step] of steps.entries()) {
    write(db, () => {
      // read again inside the transaction: another process may have taken this step meanwhile
      if (readVersion(db) !== from) return;
      if (from === 0) {
        db.exec(
          'CREATE TABLE migration (version INTEGER PRIMARY KEY, applied_at TEXT NOT NULL, program TEXT NOT NULL) STRICT',
        );
      }
      db.exec(step);
      db.prepare('INSERT INTO migration VALUES (?, ?, ?)').run(from + 1, new Date().toISOString(), programVersion());
      db.pragma(`user_version = ${from + 1}`);
    });
  }
}

function refuseNewer(found: number, known: number): void {
  if (found <= known) return;
  throw new StoreError(
    'newer-schema',
    `The database has schema version ${found}; this program knows versions up to ${known}. ` +
      'Start a newer version of the program, or restore a backup made before the upgrade. Nothing has been changed.',
  );
}

function refuseForeign(db: Connection): void {
  if (readVersion(db) > 0 || db.prepare('SELECT 1 FROM sqlite_schema').get() === undefined) return;
  throw new StoreError(
    'failed',
    'The file is a database of another program: check the path. Nothing has been changed.',
  );
}
