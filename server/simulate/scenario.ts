import { z } from 'zod';
import { phaseKinds, placeKinds } from '../analysis/vocabulary.ts';
import { quantityNames } from '../physics/quantities.ts';

const instant = z.iso.datetime({ offset: false }).meta({ description: 'UTC, ISO 8601' });
const key = z.string().regex(/^[a-z0-9]+(-[a-z0-9]+)*$/);
const factor = z.number().min(0).max(1);

/** A made-up home with its story: what `scenario.json` in sample-data holds. */
export const scenarioSchema = z.strictObject({
  title: z.string().min(1),
  note: z.string().min(1).meta({ description: 'that all of it is invented, and how it was made' }),
  seed: z.int(),
  from: instant.meta({ description: 'first instant that readings can have' }),
  to: instant.meta({ description: 'instant after the last reading' }),
  dwelling: z.strictObject({
    slug: key,
    name: z.string().min(1),
    zone: z.string().min(1).meta({ description: 'IANA time zone' }),
    section: z.strictObject({
      pitchDeg: z.number().min(0).max(90),
      slopeLengthMm: z.number().positive(),
      roomHeightMm: z.number().positive(),
      liningThicknessMm: z.number().min(0),
      loftInsulationMm: z.number().min(0),
      eavesGapMm: z.number().min(0),
    }),
  }),
  places: z
    .array(
      z.strictObject({
        key,
        name: z.string().min(1),
        kind: z.enum(placeKinds),
        faces: key.nullable().meta({ description: 'the place whose air a surface faces' }),
        position: z
          .strictObject({ along: z.number().min(0).max(1), up: z.number().min(0).max(1) })
          .nullable()
          .meta({ description: 'where on the drawn section; null: where its kind usually is' }),
      }),
    )
    .min(1),
  sensors: z
    .array(
      z.strictObject({
        key,
        name: z.string().min(1),
        model: z.string().min(1),
        quantities: z.array(z.enum(quantityNames)).min(1),
        intervalSeconds: z.int().positive(),
        file: z.string().min(1).meta({ description: 'gzip-packed CSV with its readings, relative to this file' }),
        rows: z.int().min(0),
        sha256: z
          .string()
          .regex(/^[0-9a-f]{64}$/)
          .meta({ description: 'of the CSV before packing' }),
      }),
    )
    .min(1),
  placements: z.array(z.strictObject({ sensor: key, place: key, from: instant, to: instant.nullable() })).min(1),
  phases: z.array(
    z.strictObject({ kind: z.enum(phaseKinds), name: z.string().min(1), from: instant, to: instant.nullable() }),
  ),
  diary: z.array(z.strictObject({ time: instant, kind: z.string().min(1), text: z.string().min(1) })),
  planted: z
    .strictObject({
      slopeFactorBefore: factor,
      slopeFactorAfter: factor,
      edgeFactorAfter: factor,
      controlFactor: factor.meta({ description: 'against loft air' }),
      offsets: z.record(
        key,
        z.strictObject({ temperatureK: z.number(), humidityPct: z.number(), timberMoisturePct: z.number() }),
      ),
      faults: z.array(z.strictObject({ sensor: key, kind: z.string().min(1), from: instant, to: instant })),
    })
    .meta({ description: 'what an assessment should find again: true temperature factors, sensor errors and faults' }),
});

export type Scenario = z.infer<typeof scenarioSchema>;
