import { z } from 'zod';
import { instant, quantity } from './values.ts';

/** What a listener may say when it begins to listen. */
export const liveQuery = z.object({
  ago: z.coerce.number().int().min(0).optional().meta({
    description:
      'milliseconds since the first of what is shown was asked for: what happened since is told of first, as `missed`',
  }),
});

/** Kinds of events of which a listener can be told that it missed some. */
export const missedNames = ['reading', 'hours', 'deliveries', 'story', 'storing', 'notice'] as const;
export type MissedName = (typeof missedNames)[number];

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
  missed: z
    .object({ names: z.array(z.enum(missedNames)) })
    .meta({ description: 'events that came before the stream began and after the listener had begun to ask' }),
} as const;

export type LiveEventName = keyof typeof liveEvents;
/** What happens in a dwelling, as it is told of to all who listen. */
export type Happening = Exclude<LiveEvent, { name: 'missed' }>;
export type LiveEvent = { [N in LiveEventName]: { name: N; data: z.infer<(typeof liveEvents)[N]> } }[LiveEventName];
