import type { Quantity } from '../physics/quantities.ts';
import type { HourColumnName } from './place-hours.ts';

/** Where the hours of a figure come from, and which readings, if any, it is measured by. */
interface TrackSource {
  readonly unit: string;
  readonly mean: HourColumnName;
  /** columns that keep the lowest and the highest reading of an hour; left out: the record keeps the mean alone */
  readonly low?: HourColumnName;
  readonly high?: HourColumnName;
  /** measured itself: it can be followed reading by reading */
  readonly quantity?: Quantity;
  /** less the same of outdoor air, hour by hour */
  readonly over?: 'outdoors';
}

/** What can be followed over time at a place. */
export const trackFigures = {
  temperature: {
    unit: '°C',
    mean: 'temperature',
    low: 'temperatureMin',
    high: 'temperatureMax',
    quantity: 'temperature',
  },
  humidity: { unit: '%', mean: 'humidity', low: 'humidityMin', high: 'humidityMax', quantity: 'humidity' },
  vapourPressure: { unit: 'Pa', mean: 'vapourPressure' },
  vapourExcess: { unit: 'Pa', mean: 'vapourPressure', over: 'outdoors' },
  dewPoint: { unit: '°C', mean: 'dewPoint' },
  margin: { unit: 'K', mean: 'margin', low: 'marginMin' },
  surfaceHumidity: { unit: '%', mean: 'surfaceHumidity', high: 'surfaceHumidityMax' },
  factorOutdoor: { unit: '', mean: 'factorOutdoor' },
  factorLoft: { unit: '', mean: 'factorLoft' },
  timberMoisture: { unit: '%', mean: 'timberMoisture', quantity: 'timberMoisture' },
  co2: { unit: 'ppm', mean: 'co2', quantity: 'co2' },
  battery: { unit: 'V', mean: 'battery', quantity: 'battery' },
} as const satisfies Record<string, TrackSource>;

export type TrackFigure = keyof typeof trackFigures;

export const trackFigureNames = Object.keys(trackFigures) as [TrackFigure, ...TrackFigure[]];

export const trackSource = (figure: TrackFigure): TrackSource => trackFigures[figure];
