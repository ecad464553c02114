import { spanBound } from '../arguments.ts';
import {
  checkForecast,
  forecastColumns,
  type OutdoorRow,
  outdoorColumns,
  saysTheSame,
  toOutdoorFeed,
  toOutdoorRow,
} from '../forecast-rows.ts';
import type { ForecastStore, KeptForecast } from '../port.ts';
import { selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { insertRow, requireDwelling } from './rows.ts';

export function forecastStore(db: Connection): ForecastStore {
  return {
    async keepForecast(forecast) {
      checkForecast(forecast);
      return write(db, () => {
        requireDwelling(db, forecast.dwellingId);
        const there = db
          .prepare('SELECT 1 FROM kept_forecast WHERE dwelling_id = ? AND place_id = ? AND night = ? AND hour = ?')
          .get(forecast.dwellingId, forecast.placeId, forecast.night, forecast.hour);
        if (there !== undefined) return false;
        insertRow(db, 'kept_forecast', forecastColumns, forecast);
        return true;
      });
    },

    async keptForecasts(dwellingId, fromNight) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number, string], KeptForecast>(
          `SELECT ${selectList(forecastColumns)} FROM kept_forecast WHERE dwelling_id = ? AND night >= ?
           ORDER BY night, hour, place_id`,
        )
        .all(dwellingId, fromNight);
    },

    async keepOutdoorForecast(dwellingId, forecast) {
      const row = toOutdoorRow(dwellingId, forecast);
      return write(db, () => {
        requireDwelling(db, dwellingId);
        const last = db
          .prepare<[number, number, number], OutdoorRow>(
            `SELECT ${selectList(outdoorColumns)} FROM outdoor_forecast
             WHERE dwelling_id = ? AND issued_at = ? AND received_at <= ? ORDER BY received_at DESC LIMIT 1`,
          )
          .get(dwellingId, row.issued, row.received);
        if (last !== undefined && saysTheSame(last, row)) return false;
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
        .map(toOutdoorFeed);
    },
  };
}
