import { z } from 'zod';
import { instant, quantity } from './values.ts';

/** Server-sent events of a dwelling: the event's name and its JSON data. */
export const liveEvents = {
  reading: z
    .object({ sensorKey: z.string(), quantity, time: instant, value: z.number() })
    .meta({ description: 'a reading as it was sent; calibrations are not applied to it' }),
  hours: z.object({ from: instant, to: instant }).meta({ description: 'hour records of this span were rebuilt' }),
  deliveries: z.object({}).meta({ description: 'recipients, or messages to them, changed' }),
  story: z.object({}).meta({ description: 'phases, places, sensors or the diary changed' }),
  storing: z.object({}).meta({ description: 'readings cannot be stored, or can be again: ask /healthz' }),
  notice: z.object({}).meta({ description: 'notices began, ended or were acknowledged' }),
} as const;

export type LiveEventName = keyof typeof liveEvents;
export type LiveEvent = { [N in LiveEventName]: { name: N; data: z.infer<(typeof liveEvents)[N]> } }[LiveEventName];
