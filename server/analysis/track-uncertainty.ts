import {
  measuredDewPoint,
  measuredMargin,
  measuredSurfaceHumidity,
  measuredTemperatureFactor,
  measuredVapourPressure,
} from '../physics/propagation.ts';
import { DRIEST_DEW } from '../physics/saturation.ts';
import { type ErrorPart, type Measured, measured, propagate, standardUncertainty } from '../physics/uncertainty.ts';
import { nowSettings } from './now.ts';
import type { TrackFigure } from './track-figures.ts';

/** State of a place in one entry of a track; null: not known. */
export interface PlaceState {
  readonly temperature: Measured | null;
  readonly humidity: Measured | null;
}

/** What an entry of a track rests on. `air` is the air that touches a surface, or the place's own. */
export interface TrackState {
  readonly own: PlaceState;
  readonly air: PlaceState;
  readonly room: PlaceState;
  readonly outdoors: PlaceState;
  readonly loft: PlaceState;
  /** errors of the sensor that measures the figure itself */
  readonly errors: readonly ErrorPart[];
}

/** The states that what a figure may be off by is worked out from; none where its own sensor measures it. */
export function trackNeeds(figure: TrackFigure): readonly (keyof Omit<TrackState, 'errors'>)[] {
  switch (figure) {
    case 'vapourPressure':
    case 'dewPoint':
      return ['air'];
    case 'vapourExcess':
      return ['own', 'outdoors'];
    case 'margin':
    case 'surfaceHumidity':
      return ['own', 'air'];
    case 'factorOutdoor':
      return ['own', 'room', 'outdoors'];
    case 'factorLoft':
      return ['own', 'room', 'loft'];
    default:
      return [];
  }
}

/**
 * Half width of the 95 % interval of one entry, worked out at the means of the entry; null where no error is known. It
 * is what the sensors may be off by, the same way all the time, and says nothing of the spread within the entry.
 *
 * @param mean of the entry, in the unit of the figure
 */
export function trackPlusMinus(figure: TrackFigure, mean: number, state: TrackState): number | null {
  const value = figureOf(figure, mean, state);
  return value === null || value.parts.length === 0 ? null : nowSettings.coverageFactor * standardUncertainty(value);
}

function figureOf(figure: TrackFigure, mean: number, state: TrackState): Measured | null {
  const { own, air, room, outdoors, loft, errors } = state;
  switch (figure) {
    case 'vapourPressure':
      return pressureOf(air);
    case 'dewPoint': {
      const pressure = pressureOf(air);
      return pressure && measuredDewPoint(pressure);
    }
    case 'vapourExcess': {
      const [inside, outside] = [pressureOf(own), pressureOf(outdoors)];
      return inside && outside && propagate(inside.value - outside.value, [inside, 1], [outside, -1]);
    }
    case 'margin': {
      const pressure = pressureOf(air);
      return pressure && own.temperature && measuredMargin(pressure, own.temperature);
    }
    case 'surfaceHumidity': {
      const pressure = pressureOf(air);
      return pressure && own.temperature && measuredSurfaceHumidity(pressure, own.temperature);
    }
    case 'factorOutdoor':
    case 'factorLoft': {
      const cold = (figure === 'factorOutdoor' ? outdoors : loft).temperature;
      return own.temperature && room.temperature && cold
        ? measuredTemperatureFactor(own.temperature, room.temperature, cold)
        : null;
    }
    default:
      return measured(mean, ...errors);
  }
}

/** Vapour pressure; null where it is not known or too low for a dew point. */
function pressureOf({ temperature, humidity }: PlaceState): Measured | null {
  if (temperature === null || humidity === null) return null;
  const pressure = measuredVapourPressure(temperature, humidity);
  return pressure.value >= DRIEST_DEW ? pressure : null;
}
