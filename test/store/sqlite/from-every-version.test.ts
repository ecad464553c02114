import { describe, expect, onTestFinished, test } from 'vitest';
import type { Store } from '../../../server/store/port.ts';
import { type Connection, connect } from '../../../server/store/sqlite/database.ts';
import { migrate, migrations } from '../../../server/store/sqlite/migrations.ts';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { newDatabasePath, withDatabase } from './folder.ts';

/** A January night, and its UTC day. */
const T = Date.UTC(2026, 0, 5);
const DAY = T / 86_400_000;

/** Rows as a home of that time had them, by plain SQL: by the version of the schema that brought their table. */
const rows: readonly (readonly [since: number, sql: string])[] = [
  [
    1,
    `INSERT INTO dwelling (id, slug, name, zone, pitch_deg, slope_length_mm, room_height_mm, lining_thickness_mm, loft_insulation_mm, eaves_gap_mm)
       VALUES (1, 'mill-cottage', 'Mill Cottage', 'Europe/London', 40, 1800, 2300, 50, 200, 25);
     INSERT INTO last_id VALUES (1, 'place', 2), (1, 'sensor', 1), (1, 'series', 2), (1, 'placement', 1), (1, 'phase', 1), (1, 'diary_entry', 1);
     INSERT INTO place (dwelling_id, id, name, kind, faces_place_id) VALUES (1, 1, 'Bedroom', 'room-air', NULL), (1, 2, 'Slope', 'ceiling-surface', 1);
     INSERT INTO sensor (dwelling_id, id, key, name, model) VALUES (1, 1, 'k4', 'Slope sensor', NULL);
     INSERT INTO placement (dwelling_id, id, sensor_id, place_id, from_time, to_time) VALUES (1, 1, 1, 2, ${T - 1000}, NULL);
     INSERT INTO series (dwelling_id, id, sensor_id, quantity, interval_seconds) VALUES (1, 1, 1, 'temperature_c', 600), (1, 2, 1, 'humidity_pct', NULL);
     INSERT INTO reading (dwelling_id, series_id, time, value) VALUES (1, 1, ${T}, 12340), (1, 1, ${T + 600_000}, 12.34567), (1, 2, ${T}, 81500);
     INSERT INTO conflict (dwelling_id, series_id, time, value, received_at) VALUES (1, 1, ${T}, 12990, ${T + 5});
     INSERT INTO phase (dwelling_id, id, kind, name, from_time, to_time) VALUES (1, 1, 'before', 'First winter', ${T - 1000}, NULL);
     INSERT INTO diary_entry (dwelling_id, id, time, kind, text) VALUES (1, 1, ${T}, 'note', 'black spots along the purlin');
     INSERT INTO hour_record (dwelling_id, place_id, hour, temperature_mean_c, temperature_count, temperature_coverage, humidity_count, humidity_coverage, humidity_clamped)
       VALUES (1, 2, ${T / 3_600_000}, 12.3, 6, 1, 6, 1, 0);
     INSERT INTO stale_hour (dwelling_id, hour, mark) VALUES (1, ${T / 3_600_000}, 7);
     UPDATE last_mark SET mark = 7;
     INSERT INTO quarantine (received_at, source, topic, payload, code, message) VALUES (${T}, 'mqtt', 'coomb/x/y', x'00ff', 'not-json', 'it is not JSON')`,
  ],
  [
    2,
    `INSERT INTO calibration (dwelling_id, id, series_id, from_time, method, reading_1, reference_1, uncertainty, shared_uncertainty, note, made_at)
       VALUES (1, 1, 1, ${T - 500}, 'ice-point', 0.4, 0, 0.1, 0, 'in crushed ice', ${T})`,
  ],
  [
    3,
    `INSERT INTO mapping (dwelling_id, id, topic_pattern, sensor_key, value_list, time_pointer, time_form)
       VALUES (1, 1, 'attic/+/state', 'k4', '[{"pointer":"/t","quantity":"temperature_c","unit":"°C","scale":1,"offset":0,"sensorKey":null}]', NULL, NULL)`,
  ],
  [
    4,
    `INSERT INTO installation (id, secret_key) VALUES (1, zeroblob(32));
     INSERT INTO recipient (dwelling_id, id, name, channel, address, secret, language, minimum_severity, weekly_summary, active)
       VALUES (1, 1, 'Maud', 'email', 'maud@example.invalid', NULL, 'en', 'note', 0, 1);
     INSERT INTO outbox (dwelling_id, id, turn, recipient_id, notice_id, event, created_at, not_before, subject, text, data, state, next_at)
       VALUES (1, 'notice-1.begun.0.to-1', 1, 1, NULL, 'begun', ${T}, ${T}, 'Moisture', 'is settling', '{}', 'waiting', ${T});
     INSERT INTO delivery_attempt (dwelling_id, message_id, number, started_at, ended_at, outcome, detail)
       VALUES (1, 'notice-1.begun.0.to-1', 1, ${T}, ${T + 9}, 'failed-for-now', 'no answer')`,
  ],
  [
    5,
    `INSERT INTO photo (dwelling_id, id, entry_id, alt, taken_at, sha256, width, height, added_at)
       VALUES (1, 1, 1, 'spots', NULL, 'ab', 4, 3, ${T});
     INSERT INTO photo_image (dwelling_id, photo_id, size, jpeg) VALUES (1, 1, 'full', x'ffd8'), (1, 1, 'thumbnail', x'ffd9')`,
  ],
  [
    7,
    `INSERT INTO person (name, role, passphrase_hash, created_at) VALUES ('Maud', 'owner', 'hash', ${T});
     INSERT INTO session (person_id, token_hash, started_at, rotated_at, used_at, browser) VALUES (1, 'token', ${T}, ${T}, ${T}, 'b');
     INSERT INTO trail (at, person_name, dwelling_id, action, detail) VALUES (${T}, 'Maud', 1, 'signIn', '{}');
     INSERT INTO device_account (dwelling_id, id, username, password_hash, created_at) VALUES (1, 1, 'attic', 'hash', ${T})`,
  ],
  [
    8,
    `INSERT INTO sealing (dwelling_id, first_day, text_key) VALUES (1, ${DAY}, '${'0'.repeat(64)}');
     INSERT INTO import_file (dwelling_id, id, at, name, bytes, file_digest) VALUES (1, 1, ${T}, 'log.csv', 99, 'cd');
     INSERT INTO arrival (dwelling_id, series_id, id, from_time, to_time, day, import_id) VALUES (1, 2, 1, ${T}, ${T}, ${DAY}, 1);
     INSERT INTO day_seal (dwelling_id, day, readings, readings_digest, changes_digest, previous, entry, sealed_at)
       VALUES (1, ${DAY}, 0, 'e', 'f', '${'0'.repeat(64)}', 'g', ${T});
     INSERT INTO series_seal (dwelling_id, day, sensor_id, quantity, readings, first_time, last_time, digest)
       VALUES (1, ${DAY}, 1, 'temperature_c', 1, ${T}, ${T}, zeroblob(32));
     INSERT INTO journal (dwelling_id, id, at, subject, subject_id, content) VALUES (1, 1, ${T}, 'dwelling', 1, 'null')`,
  ],
  [
    10,
    `INSERT INTO notice (dwelling_id, id, rule, detail, severity, begun_at, known_at, data, recorded_at, told)
       VALUES (1, 1, 'readings-stopped', '', 'caution', ${T}, ${T}, '{"hours":6}', ${T}, '{}');
     INSERT INTO watch_progress (dwelling_id, evaluated_to, changed_from, mark) VALUES (1, ${T}, NULL, 3);
     INSERT INTO watch_setting (dwelling_id, overrides) VALUES (1, '{"readings-stopped":{"hours":8}}')`,
  ],
  [11, `INSERT INTO build_up (dwelling_id, id, name, document, saved_at) VALUES (1, 1, 'Slope', '{}', ${T})`],
  [
    12,
    `INSERT INTO kept_forecast (dwelling_id, place_id, night, hour, made_at, chance, margin_k, margin_low_k, margin_high_k, at_time, basis)
       VALUES (1, 2, '2026-01-05', 18, ${T}, 0.4, 1, -1, 3, ${T}, 'habit');
     INSERT INTO outdoor_forecast (dwelling_id, issued_at, received_at, from_time, temperature_c_list, vapour_pressure_pa_list)
       VALUES (1, ${T}, ${T}, ${T}, '[1.5,null]', '[600,null]')`,
  ],
  [
    13,
    `INSERT INTO share_link (dwelling_id, id, token_hash, label, file_name, created_at, expires_at, opened)
       VALUES (1, 1, 'th', 'for the surveyor', 'pack.zip', ${T}, ${T + 9}, 0)`,
  ],
  [16, `INSERT INTO quarantine_not_kept (sender, messages, first_at, last_at) VALUES ('attic', 3, ${T}, ${T + 9})`],
  [
    17,
    `INSERT INTO home_attribute (dwelling_id, area, build_type) VALUES (1, 'North', 'mill');
     INSERT INTO home_group (name) VALUES ('Mills');
     INSERT INTO home_in_group (dwelling_id, group_id) VALUES (1, 1);
     INSERT INTO consent (dwelling_id, id, scope, agreed_by, given_at) VALUES (1, 1, 'summary', 'Maud', ${T});
     INSERT INTO person_reach (person_id, kind) VALUES (1, 'listed');
     INSERT INTO person_in_home (dwelling_id, person_id) VALUES (1, 1);
     INSERT INTO person_of_group (group_id, person_id) VALUES (1, 1);
     INSERT INTO home_summary (dwelling_id, worked_out_at, sensors, sensors_to_visit, visit_reasons) VALUES (1, ${T}, 1, 0, '[]')`,
  ],
];

interface Kept {
  readonly table: string;
  readonly columns: readonly string[];
  readonly content: readonly unknown[];
}

const quoted = (names: readonly string[]): string => names.map((name) => `"${name}"`).join(', ');

/** Every row of the given tables and columns, by value. */
const contentOf = (db: Connection, table: string, columns: readonly string[]): unknown[] =>
  db
    .prepare(`SELECT ${quoted(columns)} FROM "${table}"`)
    .raw()
    .all()
    .map((row) => JSON.stringify(row))
    .sort();

function everything(db: Connection): Kept[] {
  const tables = db
    .prepare<[], string>(
      "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'migration' ORDER BY name",
    )
    .pluck()
    .all();
  return tables.map((table) => {
    const columns = db.prepare<[string], string>('SELECT name FROM pragma_table_info(?)').pluck().all(table);
    return { table, columns, content: contentOf(db, table, columns) };
  });
}

/** A database as the program of that version left it, with a row at least in every table. */
function databaseOfVersion(version: number): { path: string; before: Kept[] } {
  const path = newDatabasePath();
  const db = connect(path);
  migrate(db, migrations.slice(0, version));
  for (const [since, sql] of rows) if (since <= version) db.exec(sql);
  const before = everything(db);
  db.close();
  return { path, before };
}

/** What the program reads through its port. */
async function expectRead(store: Store, version: number): Promise<void> {
  expect(await store.dwellings()).toMatchObject([{ slug: 'mill-cottage', section: { eavesGapMm: 25 } }]);
  expect((await store.places(1)).map(({ name }) => name)).toEqual(['Bedroom', 'Slope']);
  expect(await store.readings(1, 1, 0, 1e14, 10)).toMatchObject([{ value: 12.34 }, { value: 12.34567 }]);
  expect(await store.conflicts(1, 10)).toMatchObject([{ keptValue: 12.34, otherValue: 12.99 }]);
  expect(await store.phases(1)).toMatchObject([{ name: 'First winter' }]);
  expect(await store.diary(1)).toMatchObject([{ text: 'black spots along the purlin' }]);
  expect(await store.countQuarantined()).toBe(1);
  const { temperature } = await store.hourColumns(1, 2, T, T + 3_600_000, ['temperature']);
  expect([...temperature]).toEqual([12.3]);
  const since = (from: number, read: () => Promise<readonly unknown[]>) => [from, read] as const;
  for (const [from, read] of [
    since(2, () => store.calibrations(1)),
    since(3, () => store.mappings()),
    since(4, () => store.recipients(1)),
    since(4, () => store.deliveries(1, {}, 10)),
    since(5, () => store.photos(1)),
    since(7, () => store.people()),
    since(8, () => store.imports(1)),
    since(8, () => store.daySeals(1, 0, 1e6)),
    since(10, () => store.openNotices(1)),
    since(11, () => store.buildUps(1)),
  ]) {
    expect(await read(), `read from version ${version}: ${read}`).toHaveLength(from <= version ? 1 : 0);
  }
}

describe('a database of every version that there was, with rows in all its tables', () => {
  test('the rows here leave no table of the newest version empty', () => {
    const { before } = databaseOfVersion(migrations.length);
    expect(before.filter(({ content }) => content.length === 0).map(({ table }) => table)).toEqual([]);
  });

  test.each(migrations.map((_, k) => [k + 1]))(
    'version %i comes to the newest with every row as it was, and the program reads and writes it',
    async (version) => {
      const { path, before } = databaseOfVersion(version);
      const store = await openSqliteStore(path);
      onTestFinished(() => store.close());
      withDatabase(path, (db) => {
        for (const { table, columns, content } of before) {
          expect(contentOf(db, table, columns), table).toEqual(content);
        }
        expect(db.pragma('foreign_key_check')).toEqual([]);
        expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
        expect(() => db.exec('DELETE FROM reading')).toThrow(/never deleted/);
      });
      await expectRead(store, version);
      const reading = {
        dwellingId: 1,
        sensorKey: 'k4',
        quantity: 'temperature',
        time: T + 1_200_000,
        value: 13,
      } as const;
      expect(await store.append({ receivedAt: T + 1_200_000, readings: [reading], quarantined: [] })).toMatchObject({
        stored: 1,
      });
      // ids go on where they were
      const place = await store.addPlace({ dwellingId: 1, name: 'Loft', kind: 'loft-air', facesPlaceId: null });
      expect(place.id).toBe(3);
    },
  );
});
