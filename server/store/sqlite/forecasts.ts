import { forecastBases, type OutdoorFeed } from '../../analysis/forecast/tonight-forecast.ts';
import { finite, oneOf, spanBound, wholeHour, wholeTime } from '../arguments.ts';
import type { ForecastStore, KeptForecast } from '../port.ts';
import { type Columns, selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { insertRow, requireDwelling } from './rows.ts';

const columns: Columns<KeptForecast> = {
  dwellingId: 'dwelling_id',
  placeId: 'place_id',
  night: 'night',
  hour: 'hour',
  madeAt: 'made_at',
  chance: 'chance',
  value: 'margin_k',
  low: 'margin_low_k',
  high: 'margin_high_k',
  at: 'at_time',
  basis: 'basis',
};

interface OutdoorRow {
  readonly dwellingId: number;
  readonly issued: number;
  readonly received: number;
  readonly from: number;
  readonly temperatures: string;
  readonly pressures: string;
}

const outdoorColumns: Columns<OutdoorRow> = {
  dwellingId: 'dwelling_id',
  issued: 'issued_at',
  received: 'received_at',
  from: 'from_time',
  temperatures: 'temperature_c_list',
  pressures: 'vapour_pressure_pa_list',
};

export function forecastStore(db: Connection): ForecastStore {
  return {
    async keepForecast(forecast) {
      check(forecast);
      return write(db, () => {
        requireDwelling(db, forecast.dwellingId);
        const there = db
          .prepare('SELECT 1 FROM kept_forecast WHERE dwelling_id = ? AND place_id = ? AND night = ? AND hour = ?')
          .get(forecast.dwellingId, forecast.placeId, forecast.night, forecast.hour);
        if (there !== undefined) return false;
        insertRow(db, 'kept_forecast', columns, forecast);
        return true;
      });
    },

    async keptForecasts(dwellingId, fromNight) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, string], KeptForecast>(
          `SELECT ${selectList(columns)} FROM kept_forecast WHERE dwelling_id = ? AND night >= ?
           ORDER BY night, hour, place_id`,
        )
        .all(dwellingId, fromNight);
    },

    async keepOutdoorForecast(dwellingId, forecast) {
      const row = toRow(dwellingId, forecast);
      return write(db, () => {
        requireDwelling(db, dwellingId);
        const last = db
          .prepare<[number, number], OutdoorRow>(
            `SELECT ${selectList(outdoorColumns)} FROM outdoor_forecast
             WHERE dwelling_id = ? AND issued_at = ? ORDER BY received_at DESC LIMIT 1`,
          )
          .get(dwellingId, row.issued);
        const same =
          last !== undefined &&
          last.from === row.from &&
          last.temperatures === row.temperatures &&
          last.pressures === row.pressures;
        if (same || last?.received === row.received) return false;
        insertRow(db, 'outdoor_forecast', outdoorColumns, row);
        return true;
      });
    },

    async outdoorForecasts(dwellingId, issuedFrom) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, number], OutdoorRow>(
          `SELECT ${selectList(outdoorColumns)} FROM outdoor_forecast
           WHERE dwelling_id = ? AND issued_at >= ? ORDER BY issued_at, received_at`,
        )
        .all(dwellingId, spanBound('issuedFrom', issuedFrom))
        .map(({ issued, received, from, temperatures, pressures }) => ({
          issued,
          received,
          from,
          temperature: fromList(temperatures),
          vapourPressure: fromList(pressures),
        }));
    },
  };
}

function check({ night, hour, madeAt, chance, value, low, high, at, basis }: KeptForecast): void {
  if (!/^\d{4}-\d\d-\d\d$/.test(night)) throw new RangeError(`night is '${night}'; it must be a date like 2026-01-14`);
  if (!(Number.isInteger(hour) && hour >= 0 && hour < 24)) throw new RangeError(`hour is ${hour}; it must be 0 to 23`);
  if (!(chance >= 0 && chance <= 1)) throw new RangeError(`chance is ${chance}; it must be between 0 and 1`);
  wholeTime('madeAt', madeAt);
  wholeHour('at', at);
  for (const [name, margin] of Object.entries({ value, low, high })) finite(name, margin);
  oneOf('basis', basis, forecastBases);
}

function toRow(dwellingId: number, feed: OutdoorFeed): OutdoorRow {
  if (feed.temperature.length !== feed.vapourPressure.length || feed.temperature.length === 0) {
    throw new RangeError(
      `the columns have ${feed.temperature.length} and ${feed.vapourPressure.length} hours; both must have the same number, at least one`,
    );
  }
  return {
    dwellingId,
    issued: wholeTime('issued', feed.issued),
    received: wholeTime('received', feed.received),
    from: wholeHour('from', feed.from),
    temperatures: toList(feed.temperature),
    pressures: toList(feed.vapourPressure),
  };
}

/** NaN, for not said, is null in JSON. */
const toList = (values: Float64Array): string => JSON.stringify(Array.from(values));
const fromList = (list: string): Float64Array =>
  Float64Array.from(JSON.parse(list) as (number | null)[], (value) => value ?? Number.NaN);
