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
import type { Database } from './database.ts';
import { insertRow, requireDwelling } from './rows.ts';

export function forecastStore(db: Database): ForecastStore {
  return {
    async keepForecast(forecast) {
      checkForecast(forecast);
      const { dwellingId, placeId, night, hour } = forecast;
      return db.inTurn(dwellingId, async (tx) => {
        const there = await tx.first(
          'SELECT 1 FROM kept_forecast WHERE dwelling_id = $1 AND place_id = $2 AND night = $3 AND hour = $4',
          [dwellingId, placeId, night, hour],
        );
        if (there !== undefined) return false;
        await insertRow(tx, 'kept_forecast', forecastColumns, forecast);
        return true;
      });
    },

    async keptForecasts(dwellingId, fromNight) {
      await requireDwelling(db, dwellingId);
      return db.all<KeptForecast>(
        `SELECT ${selectList(forecastColumns)} FROM kept_forecast WHERE dwelling_id = $1 AND night >= $2
         ORDER BY night, hour, place_id`,
        [dwellingId, fromNight],
      );
    },

    async keepOutdoorForecast(dwellingId, forecast) {
      const row = toOutdoorRow(dwellingId, forecast);
      return db.inTurn(dwellingId, async (tx) => {
        const last = await tx.first<OutdoorRow>(
          `SELECT ${selectList({ ...outdoorColumns })} FROM outdoor_forecast
           WHERE dwelling_id = $1 AND issued_at = $2 AND received_at <= $3 ORDER BY received_at DESC LIMIT 1`,
          [dwellingId, row.issued, row.received],
        );
        if (last !== undefined && saysTheSame(last, row)) return false;
        await insertRow(tx, 'outdoor_forecast', outdoorColumns, row);
        return true;
      });
    },

    async outdoorForecasts(dwellingId, issuedFrom) {
      await requireDwelling(db, dwellingId);
      const rows = await db.all<OutdoorRow>(
        `SELECT ${selectList({ ...outdoorColumns })} FROM outdoor_forecast
         WHERE dwelling_id = $1 AND issued_at >= $2 ORDER BY issued_at, received_at`,
        [dwellingId, spanBound('issuedFrom', issuedFrom)],
      );
      return rows.map(toOutdoorFeed);
    },
  };
}
