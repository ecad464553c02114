/** What is numbered within a dwelling: 1, 2, 3 and so on for each, never the same again after a removal. */
export type Noun =
  | 'place'
  | 'sensor'
  | 'placement'
  | 'series'
  | 'phase'
  | 'diary_entry'
  | 'calibration'
  | 'mapping'
  | 'device_account'
  | 'share_link'
  | 'recipient'
  | 'outbox'
  | 'photo'
  | 'arrival'
  | 'import_file'
  | 'build_up'
  | 'consent';
