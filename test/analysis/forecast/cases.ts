/**
 * Nights to forecast: a modelled ceiling under the weather and the living of one measured house, as its sensors would have
 * shown it, from the first hour to the last.
 */
import { forecastTonight } from '../../../server/analysis/forecast/forecast-tonight.ts';
import { type Night, nightOn, tonight } from '../../../server/analysis/forecast/night.ts';
import { outcomeOf } from '../../../server/analysis/forecast/outcome.ts';
import type { Scored } from '../../../server/analysis/forecast/score.ts';
import { type ForecastSettings, forecastSettings } from '../../../server/analysis/forecast/settings.ts';
import type { ForecastInput, OutdoorFeed } from '../../../server/analysis/forecast/tonight-forecast.ts';
import type { PlaceHours } from '../../../server/analysis/place-hours.ts';
import { HOUR_MS } from '../../../server/analysis/vocabulary.ts';
import { type CeilingMass, calibratedSensors, type SensorErrors } from '../../../server/simulate/ceiling-case.ts';
import { type House, type LaidOutCase, type Living, layOut } from '../ceiling-cases.ts';

export const ZONE = 'Europe/Helsinki';
const DAY_HOURS = 24;

export interface ForecastCase {
  readonly f: number;
  readonly one: LaidOutCase;
  readonly input: Omit<ForecastInput, 'now'>;
}

export interface CaseWanted {
  readonly f: number;
  readonly mass: CeilingMass;
  readonly living: Living;
  readonly errors?: SensorErrors;
  readonly sunGain?: number;
}

/** The whole of a house's record under one ceiling that nobody ever changes. */
export function forecastCase(house: House, wanted: CaseWanted, seed: number): ForecastCase {
  const hours = house.roomTemperature.length;
  const errors = wanted.errors ?? calibratedSensors;
  const settle = 10 * DAY_HOURS;
  const one = layOut(
    {
      house,
      mass: wanted.mass,
      factorBefore: wanted.f,
      factorAfter: null,
      sunGain: wanted.sunGain ?? 0.01,
      beforeFrom: settle,
      beforeDays: Math.floor((hours - settle) / DAY_HOURS) - 1,
      afterFrom: hours - DAY_HOURS,
      afterDays: 1,
      before: wanted.living,
      after: wanted.living,
      errors,
    },
    seed,
  );
  const uncertainty = {
    temperatureOffsetK: errors.temperatureOffset,
    humidityOffsetPct: errors.humidityOffset,
    temperatureDriftK: 0,
    humidityDriftPct: 0,
    source: 'known of the simulated sensors',
  };
  return {
    f: wanted.f,
    one,
    input: {
      zone: ZONE,
      surface: one.measured.surface,
      room: one.measured.room,
      cold: one.measured.outdoor,
      coldIs: 'outdoor',
      feeds: [],
      leftOut: [],
      uncertainty: { surface: uncertainty, room: uncertainty, cold: uncertainty },
    },
  };
}

/** Forecasts of what truly came outdoors, one issued every six hours. */
export function perfectFeeds({ one }: ForecastCase): OutdoorFeed[] {
  const { start, outdoorTemperature, outdoorVapourPressure } = {
    ...one.truth,
    outdoorVapourPressure: one.measured.outdoor.vapourPressure,
  };
  const feeds: OutdoorFeed[] = [];
  for (let i = 0; i + 48 < outdoorTemperature.length; i += 6) {
    const issued = start + i * HOUR_MS;
    feeds.push({
      issued,
      received: issued,
      from: issued,
      temperature: outdoorTemperature.slice(i, i + 48),
      vapourPressure: outdoorVapourPressure.slice(i, i + 48),
    });
  }
  return feeds;
}

export interface ScoredNight extends Scored {
  readonly date: string;
  /** what came, K */
  readonly lowest: number;
  /** what was expected of it, K */
  readonly margin: { readonly value: number; readonly low: number; readonly high: number };
  /** by how much the dew point of the room rose above that of the hour before the forecast, K; NaN: not known */
  readonly dewPointRise: number;
}

/** Dates of all nights from November to March. */
export function winterDates({ input }: ForecastCase): string[] {
  const dates: string[] = [];
  const { start, temperature } = input.surface;
  let at = nightOn(tonight(start, ZONE).date, ZONE);
  while (at.to < start + temperature.length * HOUR_MS) {
    const month = Number(at.date.slice(5, 7));
    if (month >= 11 || month <= 3) dates.push(at.date);
    at = tonight(at.to + 4 * HOUR_MS, ZONE);
  }
  return dates;
}

/** Forecasts made at a local hour (12 or 18) of every winter night that could be forecast and is known. */
export function scoreNights(
  one: ForecastCase,
  hour: 12 | 18,
  settings: ForecastSettings = forecastSettings,
): { scored: ScoredNight[]; notEnough: number } {
  const scored: ScoredNight[] = [];
  let notEnough = 0;
  const { surface } = one.input;
  let wetBefore: boolean | null = null;
  for (const date of winterDates(one)) {
    const night = nightOn(date, ZONE);
    const outcome = outcomeOf(surface, night);
    const before = wetBefore;
    wetBefore = outcome?.wet ?? null;
    if (outcome === null) continue;
    const now = night.from - (18 - hour) * HOUR_MS;
    const forecast = forecastTonight({ ...one.input, now }, settings);
    if (forecast.kind === 'not-enough') {
      notEnough += 1;
      continue;
    }
    const { chance, minimumMargin: margin } = forecast;
    const dewPointRise = risen(surface, now, night);
    scored.push({ date, chance, wet: outcome.wet, wetBefore: before, lowest: outcome.lowest, margin, dewPointRise });
  }
  return { scored, notEnough };
}

function risen({ start, temperature, margin }: PlaceHours, now: number, night: Night): number {
  const at = (time: number): number => (time - start) / HOUR_MS;
  const dewPoint = temperature.map((value, i) => value - margin[i]!);
  const known = dewPoint.slice(at(night.from), at(night.to)).filter((value) => !Number.isNaN(value));
  return Math.max(...known) - dewPoint[at(now) - 1]!;
}
