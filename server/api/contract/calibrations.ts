import { z } from 'zod';
import { calibrationMethods } from '../../analysis/calibration.ts';
import { type SaturatedSalt, saturatedSalts } from '../../physics/saturated-salts.ts';
import { instant, name, quantity, sentInstant } from './values.ts';

const sensorId = z.int().positive();
const method = z.enum(calibrationMethods).meta({ description: 'how the reference was had' });
const point = z
  .object({ reading: z.number(), reference: z.number() })
  .meta({ description: 'what the sensor read and what it should have read, in the unit of its series' });

const uncertaintyFields = {
  uncertainty: z.number().meta({ description: 'standard uncertainty (k = 1) of a corrected reading' }),
  sharedSource: z
    .string()
    .nullable()
    .meta({ description: 'names a reference used for other sensors too; its error cancels in their differences' }),
  sharedUncertainty: z.number().meta({ description: 'the part of the uncertainty that came with that reference' }),
};

const drift = z
  .object({
    sinceId: z.int().meta({ description: 'number of the calibration before' }),
    days: z.number(),
    change: z
      .number()
      .meta({ description: 'positive: the sensor reads higher than it did; in the unit of the series' }),
    uncertainty: z.number().meta({ description: 'standard uncertainty of the change' }),
    perYear: z.number().nullable().meta({ description: 'null: too few days apart' }),
    beyondDoubt: z.boolean().meta({ description: 'the change is more than twice its uncertainty' }),
  })
  .meta({ id: 'Drift' });

export const calibration = z
  .object({
    id: z.int(),
    sensorId,
    sensorKey: z.string(),
    sensorName: name,
    quantity,
    unit: z.string(),
    method,
    state: z
      .enum(['in-force', 'to-come', 'followed', 'withdrawn'])
      .meta({ description: 'followed: a later one took its place, and it still corrects what came before' }),
    from: instant.nullable().meta({ description: 'applies from then on; null: to all readings from the first' }),
    to: instant.nullable().meta({ description: 'a later one begins; null: none does, or withdrawn' }),
    points: z.array(point).meta({ description: 'one: an offset; two: the line through them' }),
    correction: z.number().meta({ description: 'what is added to a reading like that of the first point' }),
    ...uncertaintyFields,
    note: z.string(),
    madeAt: instant,
    withdrawnAt: instant.nullable(),
    drift: drift.nullable().meta({ description: 'against the one made before; null: there is none in use' }),
  })
  .meta({ id: 'Calibration', description: 'a dated correction of one series; never applied to the readings as kept' });

const newCalibration = z.strictObject({
  sensorId,
  quantity,
  method,
  from: sentInstant
    .nullable()
    .meta({ description: 'applies from then on; null: to all its readings, if the sensor did not change' }),
  points: z
    .array(z.strictObject({ reading: z.number(), reference: z.number() }))
    .min(1)
    .max(2),
  uncertainty: z.number().positive(),
  sharedSource: z.string().trim().min(1).max(200).nullable().default(null),
  sharedUncertainty: z.number().min(0).default(0),
  note: z.string().trim().max(1000).default(''),
  madeAt: sentInstant.meta({ description: 'when the sensor was compared' }),
});

export const newCalibrations = z.strictObject({
  calibrations: z.array(newCalibration).min(1).max(200).meta({ description: 'all are kept, or none' }),
});

const salt = z.enum(Object.keys(saturatedSalts) as [SaturatedSalt, ...SaturatedSalt[]]);
const sensorIds = z.array(sensorId).min(1).max(100);
const begun = sentInstant.meta({ description: 'when the sensors were put together, or in' });
const ended = sentInstant.optional().meta({ description: 'when they were taken out; now when left out' });

export const calibrationRun = z
  .discriminatedUnion('method', [
    z.strictObject({
      method: z.literal('side-by-side'),
      sensorIds,
      from: begun,
      to: ended,
      referenceSensorId: sensorId.nullable().default(null).meta({ description: 'null: the mean of all' }),
    }),
    z.strictObject({
      method: z.literal('salt'),
      sensorIds,
      jars: z
        .array(z.strictObject({ salt, solutionMadeAt: sentInstant, from: begun, to: ended }))
        .min(1)
        .max(2)
        .meta({ description: 'one gives an offset, two a line' }),
    }),
    z.strictObject({ method: z.literal('ice-point'), sensorIds, from: begun, to: ended }),
  ])
  .meta({ id: 'CalibrationRun', description: 'which sensors were compared with what, and when' });

const steadiness = z
  .object({
    kind: z.enum(['settling', 'stable', 'unstable']),
    slopePerHour: z.number().nullable().meta({ description: 'unit of the series per hour; null: too few readings' }),
    scatter: z.number().nullable().meta({ description: 'standard deviation about the slope' }),
    readings: z.int(),
    hoursSince: z.number(),
    hoursLeft: z.number().meta({ description: 'until it has settled by the clock' }),
    settlingHours: z.number(),
    slopeLimitPerHour: z.number(),
    scatterLimit: z.number(),
  })
  .meta({ id: 'Steadiness', description: 'whether a running series has come to rest' });

const notice = z.object({
  code: z.string(),
  severity: z.enum(['note', 'caution', 'warning']),
  message: z.string(),
});

const outcome = z
  .discriminatedUnion('kind', [
    z.object({
      kind: z.literal('proposed'),
      points: z.array(point),
      correction: z.number(),
      ...uncertaintyFields,
      madeAt: instant,
      repeatability: z.number().meta({ description: 'scatter about the correction, a standard deviation' }),
      doubts: z
        .array(z.object({ source: z.string(), uncertainty: z.number(), shared: z.boolean() }))
        .meta({ description: 'what the uncertainty is made of, each a standard uncertainty' }),
      notices: z.array(notice),
    }),
    z.object({
      kind: z.literal('not-yet'),
      reasons: z.array(
        z.object({
          code: z.string(),
          message: z.string(),
          mend: z.string().meta({ description: 'what to do' }),
          hoursLeft: z.number().nullable().meta({ description: 'until it mends itself, where that can be said' }),
        }),
      ),
    }),
  ])
  .meta({ id: 'CalibrationOutcome' });

export const calibrationProposals = z
  .object({
    time: instant,
    method,
    settings: z.record(z.string(), z.number()).meta({ description: 'hours and limits the judgement goes by' }),
    references: z
      .array(
        z.object({
          quantity,
          value: z.number(),
          uncertainty: z.number(),
          sensorIds: z.array(sensorId).meta({ description: 'whose mean it is' }),
          stretchedBy: z.number().meta({ description: 'more than 1: the sensors lie further apart than they promise' }),
        }),
      )
      .meta({ description: 'of a side-by-side run that has come to something' }),
    series: z.array(
      z.object({
        sensorId,
        sensorKey: z.string(),
        sensorName: name,
        quantity,
        unit: z.string(),
        steadiness: z.array(steadiness).meta({ description: 'one for each jar; one otherwise' }),
        outcome: outcome.nullable().meta({ description: 'null: it is the reference' }),
        trace: z
          .array(z.object({ time: instant, value: z.number() }))
          .meta({ description: 'readings as sent, thinned to at most 240, for a chart' }),
      }),
    ),
  })
  .meta({ id: 'CalibrationProposals', description: 'what the readings of a run bear out; nothing is kept by asking' });

export type CalibrationWire = z.infer<typeof calibration>;
export type CalibrationRun = z.output<typeof calibrationRun>;
export type CalibrationProposals = z.infer<typeof calibrationProposals>;
export type NewCalibrations = z.output<typeof newCalibrations>;
