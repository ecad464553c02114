import { z } from 'zod';
import { type Unit, unitNames } from '../../physics/units.ts';
import { instant, quantity } from './values.ts';

const unit = z.enum(unitNames as [Unit, ...Unit[]]).meta({
  description:
    'temperature in C, F or K; humidity, timberMoisture in % or ratio; co2 in ppm, % or ratio; battery in V or mV',
});

const timeForm = z.enum(['iso-8601', 'epoch-s', 'epoch-ms']);
const pointer = z.string().max(500).meta({ description: 'JSON Pointer (RFC 6901); empty: the whole message' });
const template = z
  .string()
  .trim()
  .min(1)
  .max(120)
  .meta({ description: 'text and named parts of the topic pattern, e.g. attic-{sensor}' });

const value = z.strictObject({
  pointer,
  quantity,
  unit,
  scale: z.number().default(1).meta({ description: 'the number in the message is multiplied by this' }),
  offset: z.number().default(0).meta({ description: 'and this is added, in the unit given' }),
  sensorKey: template
    .nullable()
    .default(null)
    .meta({ description: 'where this value is of another sensor; null: not' }),
});

const fields = {
  topicPattern: z.string().min(1).max(500).meta({
    description: 'MQTT topic filter in which a level may hold a named part, e.g. attic/{sensor}/state',
  }),
  sensorKey: template,
  values: z
    .array(value)
    .max(100)
    .meta({ description: 'empty: the messages name their quantities themselves (flat JSON or SenML)' }),
  time: z
    .strictObject({ pointer, form: timeForm })
    .nullable()
    .meta({ description: 'where the message says when it was measured; null: nowhere, the time of receipt counts' }),
};

export const newMapping = z.strictObject({ ...fields, time: fields.time.default(null) });
export const mappingChange = z.strictObject(fields).partial();

export const mapping = z
  .object({
    id: z.int(),
    ...fields,
    filter: z
      .string()
      .meta({ description: 'the topic filter that a broker must be asked for, so that these messages come' }),
    subscribed: z.boolean().meta({ description: 'whether the filter is covered by what is subscribed to' }),
  })
  .meta({ id: 'Mapping', description: 'how messages of a form of their own are read' });

export const reread = z
  .object({
    messages: z.int().meta({ description: 'messages out of quarantine that were read in' }),
    readings: z.int(),
    left: z.int().meta({ description: 'messages that stay' }),
  })
  .meta({ id: 'Reread' });

export const mappingAnswer = z
  .object({ mapping, readIn: reread })
  .meta({ id: 'MappingAnswer', description: 'the mapping, and what it read in out of quarantine' });

const fault = z.object({ code: z.string(), message: z.string() });

export const leaf = z
  .object({
    pointer,
    value: z.union([z.string(), z.number(), z.boolean(), z.null()]),
    quantity: z.object({ quantity, unit }).nullable().meta({ description: 'a guess from its name and size' }),
    time: timeForm.nullable().meta({ description: 'a guess that it is the time of measuring, and its form' }),
  })
  .meta({ id: 'Leaf' });

export const unassignedTopic = z
  .object({
    topic: z.string(),
    count: z.int(),
    firstAt: instant,
    lastAt: instant,
    fault,
    text: z.string().meta({ description: 'the last message as text, at most 4,096 characters of it' }),
    tree: z
      .object({ value: z.unknown() })
      .nullable()
      .meta({ description: 'the last message as JSON; null: it is none, or larger than 64 KiB' }),
    leaves: z.array(leaf).meta({ description: 'its values with their pointers, in order, at most 300' }),
    suggestion: z.object({ topicPattern: z.string(), sensorKey: z.string() }),
  })
  .meta({ id: 'UnassignedTopic', description: 'a topic whose messages nobody has explained yet' });

export const preview = z
  .object({
    messages: z.array(
      z.object({
        topic: z.string(),
        receivedAt: instant,
        readings: z.array(
          z.object({ sensorKey: z.string(), quantity, unit: z.string(), time: instant, value: z.number() }),
        ),
        fault: fault.nullable(),
      }),
    ),
  })
  .meta({ id: 'MappingPreview', description: 'what the mapping would read in the last messages kept in quarantine' });

export type Mapping = z.infer<typeof mapping>;
export type NewMapping = z.input<typeof newMapping>;
export type UnassignedTopic = z.infer<typeof unassignedTopic>;
