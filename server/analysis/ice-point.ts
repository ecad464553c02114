import { standardFromLimit } from '../physics/uncertainty.ts';
import {
  type Column,
  calibratingSettings,
  combined,
  type Doubt,
  hoursInWords,
  medianOf,
  notYet,
  type Outcome,
  reason,
  stepUncertainty,
  within,
} from './calibrating.ts';
import { fixed } from './say.ts';
import { judgeSteadiness, type Steadiness, steadinessLimits } from './steadiness.ts';

/** A sealed temperature sensor in crushed ice and clean water. Times in UTC milliseconds. */
export interface IceRun {
  /** names the ice, and so the error that all in it share */
  readonly name: string;
  /** sensor put in, and taken out or now */
  readonly from: number;
  readonly to: number;
  /** as sent */
  readonly temperature: Column;
}

/** Temperature of ice in water that holds air, °C. */
const ICE_C = 0;

export const iceSteadiness = ({ temperature, from, to }: IceRun, settings = calibratingSettings): Steadiness =>
  judgeSteadiness(temperature, from, to, {
    ...steadinessLimits['ice-point'].temperature,
    settlingHours: settings.iceHours,
  });

/**
 * Calibrates a temperature sensor by melting ice, 0.0 °C. Counted as doubt: the ice bath, what the readings would still
 * move in their settling time, their scatter and their steps.
 *
 * @source the ice point as a practical reference good to 0.01 to 0.05 K: common practice, from memory
 */
export function calibrateByIce(seriesId: number, run: IceRun, settings = calibratingSettings): Outcome {
  const steadiness = iceSteadiness(run, settings);
  const { kind, hoursLeft, slopePerHour, scatter, readings, limits } = steadiness;
  if (slopePerHour === null || scatter === null) {
    return notYet(
      reason(
        'too-few-readings',
        `There are ${readings} readings in the ice since it settled; it takes ${limits.fewestReadings}.`,
        'Wait, or let the sensor report more often.',
        hoursLeft > 0 ? hoursLeft : null,
      ),
    );
  }
  if (kind === 'settling') {
    return notYet(
      reason(
        'settling',
        `The temperature is still moving, by ${fixed(Math.abs(slopePerHour), 2)} K an hour, or was given too little time.`,
        hoursLeft > 0
          ? `Stir, and wait another ${hoursInWords(hoursLeft)} at least.`
          : 'Stir, add ice, and wait until it has come to rest.',
        hoursLeft > 0 ? hoursLeft : null,
      ),
    );
  }
  if (kind === 'unstable') {
    return notYet(
      reason('unsteady', 'The temperature jumps about.', 'Crush the ice smaller, pour water off, stir, and wait.'),
    );
  }
  const reading = medianOf(within(run.temperature, steadiness.from, run.to).values);
  if (Math.abs(reading - ICE_C) > settings.farthestK) {
    return notYet(
      reason(
        'too-far-off',
        `The sensor reads ${fixed(reading, 1)} °C, and melting ice has 0.0 °C.`,
        'Look whether its tip is deep in the ice and sends the unit it should; if so, replace it.',
      ),
    );
  }
  const doubts: Doubt[] = [
    { source: 'ice and water', uncertainty: standardFromLimit(settings.iceLimitK), shared: true },
    {
      source: 'still settling',
      uncertainty: standardFromLimit(Math.abs(slopePerHour) * settings.iceHours),
      shared: false,
    },
    { source: 'repeatability, and the mean of it', uncertainty: scatter * Math.sqrt(1 + 1 / readings), shared: false },
    { source: 'steps in which it reports', uncertainty: stepUncertainty(run.temperature.values), shared: false },
  ];
  return {
    kind: 'proposed',
    proposal: {
      seriesId,
      method: 'ice-point',
      points: [{ reading, reference: ICE_C }],
      madeAt: run.to,
      ...combined(doubts, run.name),
      doubts,
      repeatability: scatter,
      notices: [
        {
          code: 'one-temperature',
          severity: 'note',
          message:
            'Compared at 0 °C; far from that it is less sure. A night side by side at room temperature tells more.',
          data: { temperatureC: ICE_C },
        },
      ],
    },
  };
}
