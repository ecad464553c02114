/** A table that both engines have, with the same columns and the same key. */
export interface MovedTable {
  readonly name: string;
  /** columns of its key, in its order */
  readonly key: readonly string[];
  /** how the rows of one dwelling are told; null: it is the installation's, and stays with it */
  readonly ofDwelling: 'id' | 'dwelling_id' | 'topic' | null;
  /** rows of another engine's own that are neither moved nor compared, as SQL */
  readonly leftOut?: string;
  /** rows read and written together; fewer where a row is large */
  readonly page?: number;
}

const of = (name: string, ...key: string[]): MovedTable => ({
  name,
  key: ['dwelling_id', ...key],
  ofDwelling: 'dwelling_id',
});
const ofInstallation = (name: string, ...key: string[]): MovedTable => ({ name, key, ofDwelling: null });

/**
 * Every table but those that each engine fills by itself, in an order in which each refers only to what came before it.
 * That none is forgotten is tested against the schema of both engines.
 */
export const movedTables: readonly MovedTable[] = [
  { name: 'dwelling', key: ['id'], ofDwelling: 'id' },
  ofInstallation('last_dwelling', 'id'),
  ofInstallation('installation', 'id'),
  ofInstallation('person', 'id'),
  ofInstallation('session', 'id'),
  ofInstallation('trail', 'id'),
  ofInstallation('home_group', 'id'),
  ofInstallation('person_reach', 'person_id'),
  ofInstallation('person_of_group', 'group_id', 'person_id'),
  { ...of('person_in_home', 'person_id'), ofDwelling: null },
  { ...of('home_in_group', 'group_id'), ofDwelling: null },
  of('home_attribute'),
  // the journal and the notices are numbered by PostgreSQL here, and by SQLite from the last of them
  { ...of('last_id', 'noun'), leftOut: "noun IN ('journal', 'notice')" },
  // a place may refer to one that comes later
  { ...of('place', 'id'), page: 1_000_000 },
  of('sensor', 'id'),
  of('placement', 'id'),
  of('series', 'id'),
  of('calibration', 'id'),
  of('mapping', 'id'),
  of('phase', 'id'),
  of('diary_entry', 'id'),
  of('photo', 'id'),
  { ...of('photo_image', 'photo_id', 'size'), page: 20 },
  of('build_up', 'id'),
  of('import_file', 'id'),
  of('arrival', 'series_id', 'id'),
  of('reading', 'series_id', 'time'),
  of('conflict', 'series_id', 'time', 'value'),
  of('hour_record', 'place_id', 'hour'),
  of('stale_hour', 'hour'),
  of('sealing'),
  of('day_seal', 'day'),
  of('series_seal', 'day', 'sensor_id', 'quantity'),
  of('journal', 'id'),
  of('device_account', 'id'),
  of('share_link', 'id'),
  of('recipient', 'id'),
  of('outbox', 'id'),
  of('delivery_attempt', 'message_id', 'number'),
  of('notice', 'id'),
  of('watch_progress'),
  of('watch_setting'),
  of('kept_forecast', 'place_id', 'night', 'hour'),
  of('outdoor_forecast', 'issued_at', 'received_at'),
  of('consent', 'id'),
  of('home_summary'),
  { name: 'quarantine', key: ['id'], ofDwelling: 'topic', page: 500 },
  ofInstallation('quarantine_not_kept', 'sender'),
];

/** Rows read and written together where a table says nothing else. */
export const PAGE = 5_000;

/** Keeps how far a move has come, in the database that is moved into, until it is finished. */
export const PROGRESS_TABLE = 'move_progress';
