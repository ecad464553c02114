import type { Advice } from '../analysis/advice.ts';
import type { Outcome } from '../analysis/calibrating.ts';
import { applying, correctedReading, inUse } from '../analysis/calibration.ts';
import type { Drift } from '../analysis/calibration-drift.ts';
import type { HealthFinding } from '../analysis/health/finding.ts';
import { type HearingState, hearing } from '../analysis/health/hearing.ts';
import type { PlaceNow as PlaceNowFigures } from '../analysis/now.ts';
import { accuracySource, plusMinusOf, sensorErrors } from '../analysis/sensor-errors.ts';
import type { Steadiness } from '../analysis/steadiness.ts';
import type { Trend } from '../analysis/trend.ts';
import { type Quantity, quantities } from '../physics/quantities.ts';
import type * as row from '../store/port.ts';
import type { CalibrationProposals, CalibrationWire } from './contract/calibrations.ts';
import type * as wire from './contract/dwelling.ts';
import type { AdviceWire, PlaceNow } from './contract/figures.ts';
import type { Photo } from './contract/photos.ts';

/** Each kind of row crosses into its form on the wire here, and nowhere else. */

export const toInstant = (time: number): string => new Date(time).toISOString();
const toInstantOrNull = (time: number | null): string | null => (time === null ? null : toInstant(time));

/** A column as JSON carries it: what is not known is null. */
export const columnView = (column: Float64Array): (number | null)[] =>
  Array.from(column, (value) => (Number.isNaN(value) ? null : value));

export const dwellingView = ({
  slug,
  name,
  zone,
  section,
  isExample,
  sectionConfirmed,
}: row.KnownDwelling): wire.Dwelling => ({ slug, name, zone, section, isExample, sectionConfirmed });

export const placeView = ({ id, name, kind, facesPlaceId, position }: row.Place): wire.Place => ({
  id,
  name,
  kind,
  facesPlaceId,
  position,
});

export const phaseView = ({ id, kind, name, from, to }: row.Phase): wire.Phase => ({
  id,
  kind,
  name,
  from: toInstant(from),
  to: toInstantOrNull(to),
});

export const photoView = ({ id, width, height, alt, takenAt, sha256 }: row.Photo): Photo => ({
  id,
  width,
  height,
  alt,
  takenAt: takenAt === null ? null : toInstant(takenAt),
  sha256,
});

/** @param photos of the dwelling, also those of other entries */
export const diaryView = ({ id, time, kind, text }: row.DiaryEntry, photos: readonly row.Photo[]): wire.DiaryEntry => ({
  id,
  time: toInstant(time),
  kind,
  text,
  photos: photos.filter(({ entryId }) => entryId === id).map(photoView),
});

const heardWords: Record<HearingState, string> = {
  heard: 'heard lately',
  late: 'late: check its power and its connection',
  silent: 'silent for more than a day: check its battery and its connection',
  'never-heard': 'nothing heard yet',
};

export const findingView = (finding: HealthFinding, sensor: Pick<row.Sensor, 'id' | 'name'>): wire.SensorFinding => ({
  sensorId: sensor.id,
  sensorName: sensor.name,
  code: finding.code,
  severity: finding.severity,
  message: finding.message,
  data: Object.fromEntries(
    Object.entries(finding.data).map(([name, value]) => [name, Array.isArray(value) ? [...value] : value]),
  ) as wire.SensorFinding['data'],
  from: toInstant(finding.from),
  to: toInstant(finding.to),
  whatToDo: finding.whatToDo,
  effect: finding.effect,
});

export interface SensorRows {
  readonly placements: readonly row.Placement[];
  readonly places: readonly row.Place[];
  readonly series: readonly row.Series[];
  readonly last: readonly row.LastReading[];
  readonly calibrations: readonly row.CalibrationRecord[];
  /** what is known of the sensor's health */
  readonly health: Pick<wire.Sensor['health'], 'findings' | 'battery'>;
}

export function sensorView(sensor: row.Sensor, rows: SensorRows, now: number, zone: string): wire.Sensor {
  const series = rows.series.filter(({ sensorId }) => sensorId === sensor.id);
  const lastOf = (id: number): row.LastReading | undefined => rows.last.find(({ seriesId }) => seriesId === id);
  const states = series.map(({ id, intervalSeconds }) => hearing(now, lastOf(id)?.time ?? null, intervalSeconds));
  const best = (['heard', 'late', 'silent'] as const).find((state) => states.includes(state)) ?? 'never-heard';
  return {
    id: sensor.id,
    key: sensor.key,
    name: sensor.name,
    model: sensor.model,
    placements: rows.placements
      .filter(({ sensorId }) => sensorId === sensor.id)
      .sort((a, b) => a.from - b.from)
      .map(({ placeId, from, to }) => ({
        placeId,
        placeName: rows.places.find(({ id }) => id === placeId)?.name ?? `place ${placeId}`,
        from: toInstant(from),
        to: toInstantOrNull(to),
      })),
    series: series.map(({ id, quantity, intervalSeconds }) => {
      const last = lastOf(id);
      const ordered = inUse(rows.calibrations, id);
      const calibration = applying(ordered, last?.time ?? now);
      return {
        quantity,
        unit: quantities[quantity].unit,
        intervalSeconds,
        last: last
          ? {
              time: toInstant(last.time),
              value: calibration === null ? last.value : correctedReading(last.value, calibration.points, quantity),
              asSent: last.value,
            }
          : null,
        accuracy: {
          plusMinus: plusMinusOf(sensorErrors(sensor, quantity, calibration)),
          source: accuracySource(sensor.model, quantity, calibration, zone),
          calibrationId: calibration?.id ?? null,
        },
      };
    }),
    health: { state: best, words: heardWords[best], ...rows.health },
  };
}

/** What stands beside the figures of a place. */
export interface PlaceBeside {
  readonly findings: readonly wire.SensorFinding[];
  readonly trends: readonly Trend[];
  readonly position: row.SectionPosition | null;
}

export function placeNowView(place: PlaceNowFigures, beside: PlaceBeside): PlaceNow {
  const { at, state, placeId, name, kind, airPlaceId } = place;
  return {
    placeId,
    name,
    kind,
    airPlaceId,
    at: toInstantOrNull(at),
    state,
    temperature: place.temperature,
    humidity: place.humidity,
    vapourPressure: place.vapourPressure,
    dewPoint: place.dewPoint,
    margin: place.margin,
    surfaceHumidity: place.surfaceHumidity,
    vapourExcess: place.vapourExcess,
    timberMoisture: place.timberMoisture,
    trends: [...beside.trends],
    position: beside.position,
    findings: [...beside.findings],
  };
}

export const adviceView = ({ code, tone, placeId, data, message, cautions }: Advice): AdviceWire => ({
  code,
  tone,
  placeId,
  data: { ...data },
  message,
  cautions: [...cautions],
});

export interface CalibrationContext {
  readonly sensor: row.Sensor;
  readonly quantity: Quantity;
  /** the next one in use of the same series */
  readonly next: row.CalibrationRecord | null;
  readonly drift: (Drift & { readonly sinceId: number }) | null;
  readonly now: number;
}

export function calibrationView(record: row.CalibrationRecord, context: CalibrationContext): CalibrationWire {
  const { sensor, quantity, next, drift, now } = context;
  const withdrawn = record.withdrawnAt !== null;
  return {
    id: record.id,
    sensorId: sensor.id,
    sensorKey: sensor.key,
    sensorName: sensor.name,
    quantity,
    unit: quantities[quantity].unit,
    method: record.method,
    state: calibrationState(record, next, now),
    // kept as 1970: before any reading
    from: record.from === 0 ? null : toInstant(record.from),
    to: withdrawn || next === null ? null : toInstant(next.from),
    points: [...record.points],
    correction: correctionOf(record),
    uncertainty: record.uncertainty,
    sharedSource: record.sharedSource,
    sharedUncertainty: record.sharedUncertainty,
    note: record.note,
    madeAt: toInstant(record.madeAt),
    withdrawnAt: toInstantOrNull(record.withdrawnAt),
    drift,
  };
}

function calibrationState(
  { from, withdrawnAt }: row.CalibrationRecord,
  next: row.CalibrationRecord | null,
  now: number,
): CalibrationWire['state'] {
  if (withdrawnAt !== null) return 'withdrawn';
  if (from > now) return 'to-come';
  return next !== null && next.from <= now ? 'followed' : 'in-force';
}

const correctionOf = ({ points }: Pick<row.CalibrationRecord, 'points'>): number =>
  points[0]!.reference - points[0]!.reading;

type WireSeries = CalibrationProposals['series'][number];

export const steadinessView = ({ limits, ...rest }: Steadiness): WireSeries['steadiness'][number] => ({
  kind: rest.kind,
  slopePerHour: rest.slopePerHour,
  scatter: rest.scatter,
  readings: rest.readings,
  hoursSince: rest.hoursSince,
  hoursLeft: rest.hoursLeft,
  settlingHours: limits.settlingHours,
  slopeLimitPerHour: limits.slopePerHour,
  scatterLimit: limits.scatter,
});

export function outcomeView(outcome: Outcome): NonNullable<WireSeries['outcome']> {
  if (outcome.kind === 'not-yet') return { kind: 'not-yet', reasons: outcome.reasons.map((reason) => ({ ...reason })) };
  const { points, uncertainty, sharedSource, sharedUncertainty, madeAt, repeatability, doubts, notices } =
    outcome.proposal;
  return {
    kind: 'proposed',
    points: [...points],
    correction: correctionOf(outcome.proposal),
    uncertainty,
    sharedSource,
    sharedUncertainty,
    madeAt: toInstant(madeAt),
    repeatability,
    doubts: doubts.map((doubt) => ({ ...doubt })),
    notices: notices.map(({ code, severity, message }) => ({ code, severity, message })),
  };
}
