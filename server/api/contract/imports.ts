import { z } from 'zod';
import { instant, quantity } from './values.ts';

/** Bytes of a file that are still taken: some ten years of minutes. */
export const LARGEST_IMPORT = 256 << 20;

const column = z.string().trim().min(1).max(200);

/** What the person importing knows better than a guess. Columns by name or by number from 1. */
export const importOptions = z
  .strictObject({
    time: column,
    temperature: column,
    humidity: column,
    timberMoisture: column,
    co2: column,
    battery: column,
    temperatureUnit: z.enum(['C', 'F']),
    zone: z.string().max(60).meta({ description: "IANA zone or offset from UTC of the logger's clock" }),
    decimal: z.enum(['.', ',']),
    dateOrder: z.enum(['ymd', 'dmy', 'mdy']),
  })
  .partial()
  .meta({ id: 'ImportOptions' });

export const importPlan = z
  .object({
    encoding: z.string(),
    delimiter: z.string(),
    decimal: z.enum(['.', ',']),
    dateOrder: z.enum(['ymd', 'dmy', 'mdy', 'epoch']),
    zone: z.object({
      kind: z.enum(['in-cells', 'header', 'option', 'dwelling']),
      name: z.string().nullable(),
    }),
    columns: z.array(z.string()).meta({ description: 'names of all columns' }),
    timeColumns: z.array(z.string()),
    quantities: z.array(
      z.object({
        quantity,
        column: z.string(),
        fileUnit: z.string(),
        unit: z.string(),
        count: z.int(),
        min: z.number().nullable(),
        max: z.number().nullable(),
      }),
    ),
    notes: z.array(z.string()).meta({ description: 'what the person importing should look at' }),
    rows: z.int(),
    readings: z.int(),
    gaps: z.int().meta({ description: 'rows with a time and no value' }),
    first: instant.nullable(),
    last: instant.nullable(),
    intervalSeconds: z.number().nullable(),
    rejected: z.int(),
    rejects: z
      .array(z.object({ line: z.int(), reason: z.string() }))
      .meta({ description: 'the first of the lines left out' }),
  })
  .meta({ id: 'ImportPlan', description: 'what importing the file would do; nothing is written yet' });

export const importState = z
  .object({
    id: z.string(),
    name: z.string(),
    bytes: z.int(),
    state: z.enum(['checking', 'checked', 'unusable', 'reading', 'done', 'failed']),
    share: z.number().min(0).max(1).nullable().meta({ description: 'how far checking or reading has come' }),
    problem: z.object({ code: z.string(), message: z.string() }).nullable(),
    plan: importPlan.nullable(),
    outcome: z.object({ sensorKey: z.string(), stored: z.int(), repeated: z.int(), conflicting: z.int() }).nullable(),
  })
  .meta({ id: 'Import' });

export const importRun = z.strictObject({
  sensorKey: z
    .string()
    .trim()
    .max(100)
    .regex(/^[^\s/+#]+$/, 'must not be empty or hold spaces, / + or #')
    .meta({ description: 'name of the sensor the readings are of; made where there is none' }),
});

export type ImportState = z.infer<typeof importState>;
export type ImportOptions = z.input<typeof importOptions>;
