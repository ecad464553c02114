import { forecastBases, type OutdoorFeed } from '../analysis/forecast/tonight-forecast.ts';
import { finite, oneOf, wholeHour, wholeTime } from './arguments.ts';
import type { KeptForecast } from './port.ts';
import type { Columns } from './row-columns.ts';

export const forecastColumns: Columns<KeptForecast> = {
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

export interface OutdoorRow {
  readonly dwellingId: number;
  readonly issued: number;
  readonly received: number;
  readonly from: number;
  readonly temperatures: string;
  readonly pressures: string;
}

export const outdoorColumns: Columns<OutdoorRow> = {
  dwellingId: 'dwelling_id',
  issued: 'issued_at',
  received: 'received_at',
  from: 'from_time',
  temperatures: 'temperature_c_list',
  pressures: 'vapour_pressure_pa_list',
};

/** @throws RangeError for a forecast that cannot be kept */
export function checkForecast({ night, hour, madeAt, chance, value, low, high, at, basis }: KeptForecast): void {
  if (!/^\d{4}-\d\d-\d\d$/.test(night)) throw new RangeError(`night is '${night}'; it must be a date like 2026-01-14`);
  if (!(Number.isInteger(hour) && hour >= 0 && hour < 24)) throw new RangeError(`hour is ${hour}; it must be 0 to 23`);
  if (!(chance >= 0 && chance <= 1)) throw new RangeError(`chance is ${chance}; it must be between 0 and 1`);
  wholeTime('madeAt', madeAt);
  wholeHour('at', at);
  for (const [name, margin] of Object.entries({ value, low, high })) finite(name, margin);
  oneOf('basis', basis, forecastBases);
}

export function toOutdoorRow(dwellingId: number, feed: OutdoorFeed): OutdoorRow {
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

export const toOutdoorFeed = ({ issued, received, from, temperatures, pressures }: OutdoorRow): OutdoorFeed => ({
  issued,
  received,
  from,
  temperature: fromList(temperatures),
  vapourPressure: fromList(pressures),
});

/** Whether an outdoor forecast says nothing that the last one of the same issue did not say. */
export const saysTheSame = (last: OutdoorRow, row: OutdoorRow): boolean =>
  last.received === row.received ||
  (last.from === row.from && last.temperatures === row.temperatures && last.pressures === row.pressures);

/** NaN, for not said, is null in JSON. */
const toList = (values: Float64Array): string => JSON.stringify(Array.from(values));
const fromList = (list: string): Float64Array =>
  Float64Array.from(JSON.parse(list) as (number | null)[], (value) => value ?? Number.NaN);
