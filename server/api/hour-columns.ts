import type { HourRecord } from '../analysis/hour-record.ts';
import { hourSettings } from '../analysis/hours.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { HourColumnName, HourColumns } from './contract/figures.ts';

const yesOrNo = (value: boolean | null): number | null => (value === null ? null : Number(value));

const covered = (record: HourRecord): boolean => record.temperatureCoverage >= hourSettings.coverageWanted;

/** What each column holds of a record; an hour with too little coverage is a gap. */
const cells: Record<HourColumnName, (record: HourRecord) => number | null> = {
  temperature: (record) => (covered(record) ? record.temperatureMean : null),
  humidity: (record) => (record.humidityCoverage >= hourSettings.coverageWanted ? record.humidityMean : null),
  vapourPressure: (record) => record.vapourPressure,
  dewPoint: (record) => record.dewPoint,
  margin: (record) => record.marginMean,
  marginMin: (record) => record.marginMin,
  surfaceHumidity: (record) => record.surfaceHumidityMean,
  factorOutdoor: (record) => record.factorOutdoor,
  factorLoft: (record) => record.factorLoft,
  riskHour: (record) => yesOrNo(record.riskHour),
  condensationHour: (record) => yesOrNo(record.condensationHour),
  timberMoisture: (record) => record.timberMoisture,
  co2: (record) => record.co2,
  battery: (record) => record.battery,
  coverage: (record) => record.temperatureCoverage,
};

/** Hour records as columns, an entry per hour of `[from, to)`; null where there is none. */
export function hourColumns(
  records: readonly HourRecord[],
  from: number,
  to: number,
  wanted: readonly HourColumnName[],
): HourColumns['columns'] {
  const hours = (to - from) / HOUR_MS;
  const columns: HourColumns['columns'] = {};
  for (const name of wanted) {
    const column: (number | null)[] = new Array(hours).fill(null);
    for (const record of records) column[(record.hour - from) / HOUR_MS] = cells[name](record);
    columns[name] = column;
  }
  return columns;
}
