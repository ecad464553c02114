import { countedReadings } from '../analysis/health/set-aside.ts';
import { buildHours, type HourPlace, type PlacedColumns } from '../analysis/hours.ts';
import { type PlaceHours, placeHoursOf } from '../analysis/place-hours.ts';
import { HOUR_MS, type PlaceKind } from '../analysis/vocabulary.ts';
import { intervalOf } from '../store/hour-keeper.ts';
import type { LoggedColumn, LoggerFile } from './logger-csv.ts';

const DAY_MS = 24 * HOUR_MS;
const LONGEST_HOURS = 20 * 8784;

/**
 * Hour records of several loggers' files on one time axis, by the same function as the server's.
 *
 * @throws RangeError where the files span more than twenty years
 */
export function hoursOfFiles(files: readonly { kind: PlaceKind; log: LoggerFile }[]): readonly PlaceHours[] {
  const columns = files.flatMap(({ log }, k) => placedColumns(k, log));
  let first = Number.POSITIVE_INFINITY;
  let last = Number.NEGATIVE_INFINITY;
  for (const { times } of columns) {
    first = Math.min(first, times[0] ?? first);
    last = Math.max(last, times.at(-1) ?? last);
  }
  const start = Math.floor(first / HOUR_MS) * HOUR_MS;
  const hours = Math.floor((last - start) / HOUR_MS) + 1;
  if (hours > LONGEST_HOURS) {
    throw new RangeError(`the files span ${hours} hours together; they may span 20 years. Is a date wrong?`);
  }
  const places = files.map(({ kind }, k): HourPlace => ({ id: k, kind, facesPlaceId: null }));
  const records = buildHours({ start, hours, places, columns });
  return files.map((_, k) => placeHoursOf(records, k, start, hours));
}

function placedColumns(placeId: number, log: LoggerFile): PlacedColumns[] {
  const quantities = ['temperature', 'humidity', 'timberMoisture'] as const;
  return quantities.flatMap((quantity) =>
    stretches(log[quantity]).map((stretch) => countedReadings({ placeId, sensorId: placeId, quantity, ...stretch })),
  );
}

/** Cuts a series where its spacing changes from one day to the next, so that each stretch has its own interval. */
function stretches(column: LoggedColumn): (LoggedColumn & { intervalSeconds: number | null })[] {
  const { times, values } = column;
  const out: { from: number; to: number; intervalSeconds: number | null }[] = [];
  const usual = intervalOf(Array.from(times));
  for (let from = 0; from < times.length; ) {
    const end = (Math.floor(times[from]! / DAY_MS) + 1) * DAY_MS;
    let to = from;
    while (to < times.length && times[to]! < end) to += 1;
    const intervalSeconds = intervalOf(Array.from(times.subarray(from, to))) ?? usual;
    const last = out.at(-1);
    if (last !== undefined && last.intervalSeconds === intervalSeconds) last.to = to;
    else out.push({ from, to, intervalSeconds });
    from = to;
  }
  return out.map(({ from, to, intervalSeconds }) => ({
    times: times.subarray(from, to),
    values: values.subarray(from, to),
    intervalSeconds,
  }));
}
