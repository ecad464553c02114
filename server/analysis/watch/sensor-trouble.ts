import type { HealthCode, HealthFinding } from '../health/finding.ts';
import { HOUR_MS } from '../vocabulary.ts';
import type { SensorFinding, WatchHistory } from './history.ts';
import type { CasesOf } from './watch-case.ts';
import type { WatchData } from './watch-event.ts';

/** Findings that go on and that someone must see to. What is over by the next look stays on the sensors' screen alone. */
const told: ReadonlySet<HealthCode> = new Set([
  'silent',
  'battery',
  'flat-lined',
  'stuck-at-100',
  'unit-mix-up',
  'swapped-places',
  'duplicated-identity',
]);
/** A finding that last spoke longer ago than this is over, h. */
const OVER_AFTER_HOURS = 24;

const worthTelling = ({ code, severity }: HealthFinding): boolean => told.has(code) && severity !== 'note';

const goesOn = (finding: HealthFinding, time: number): boolean => time - finding.to < OVER_AFTER_HOURS * HOUR_MS;

/** What a look through the readings at the end of hour `i` found of one kind; undefined: nobody looked then. */
function foundAt(history: WatchHistory, i: number, sensorId: number, code: string): SensorFinding | null | undefined {
  const looked = history.findings.get(history.start + i * HOUR_MS);
  if (looked === undefined) return undefined;
  const time = history.start + (i + 1) * HOUR_MS;
  return (
    looked.find((one) => one.sensorId === sensorId && one.finding.code === code && goesOn(one.finding, time)) ?? null
  );
}

/** The single figures of a finding; lists are left out. */
const flat = (data: HealthFinding['data']): WatchData =>
  Object.fromEntries(
    Object.entries(data).flatMap(([name, value]) =>
      typeof value === 'object' && value !== null ? [] : [[name, value]],
    ),
  );

/**
 * Trouble with a sensor, as its own readings show it. Judged when the readings are looked through; hours that come late do
 * not change what was known.
 */
export const sensorTrouble: CasesOf = (history) => {
  const seen = new Map<string, { sensorId: number; code: HealthCode }>();
  for (const looked of history.findings.values()) {
    for (const { sensorId, finding } of looked) {
      if (worthTelling(finding)) seen.set(`${sensorId}/${finding.code}`, { sensorId, code: finding.code });
    }
  }
  return [...seen.values()].map(({ sensorId, code }) => sensorCase(history, sensorId, code));
};

/** The case of one kind of trouble of one sensor, also where no look found it: what was going on ends by it. */
export const sensorCase = (history: WatchHistory, sensorId: number, code: string): ReturnType<CasesOf>[number] => ({
  rule: 'sensor-trouble',
  placeId: null,
  sensorId,
  detail: code,
  known: () => true,
  begins(i) {
    const found = foundAt(history, i, sensorId, code);
    if (found === undefined || found === null) return null;
    // while nothing at all is heard, that is one event, not one for every sensor
    if (code === 'silent' && history.heard[i] === 0) return null;
    const { finding, sensorName, placeId } = found;
    const begun = Math.floor((finding.from - history.start) / HOUR_MS);
    return {
      since: Math.min(i, Math.max(0, begun)),
      severity: finding.severity,
      chance: null,
      data: {
        ...flat(finding.data),
        sensor: sensorName,
        placeId,
        code,
        effect: finding.effect.kind,
        message: finding.message,
        whatToDo: finding.whatToDo,
      },
    };
  },
  ends: (i) => (foundAt(history, i, sensorId, code) === null ? i : null),
});
