import { z } from 'zod';
import { phaseKinds, placeKinds } from '../../analysis/vocabulary.ts';
import { type Quantity, quantityNames } from '../../physics/quantities.ts';

/** Building stones of the contract. Instants are ISO 8601 in UTC; numbers carry their unit in name or description. */
export const instant = z.iso
  .datetime()
  .meta({ description: 'an instant, ISO 8601 in UTC, e.g. 2026-01-14T22:10:00.000Z' });

/** An instant as a person or script may send it: any UTC offset, never without one. */
export const sentInstant = z.iso
  .datetime({ offset: true })
  .meta({ description: 'an instant, ISO 8601 with Z or a UTC offset' });

export const slug = z
  .string()
  .regex(/^[a-z0-9]([a-z0-9-]{0,38}[a-z0-9])?$/)
  .meta({ description: "the dwelling's name in topics and addresses: lower-case letters, digits, hyphens" });

export const placeKind = z.enum(placeKinds).meta({ description: 'what is being watched there' });
export const phaseKind = z.enum(phaseKinds).meta({ description: 'what the span was in the story' });
export const quantity = z
  .enum(quantityNames as [Quantity, ...Quantity[]])
  .meta({ description: 'temperature in °C, humidity and timberMoisture in %, co2 in ppm, battery in V' });

export const placeId = z.int().positive().meta({ description: 'number of a place within its dwelling' });
export const name = z.string().trim().min(1).max(80);

/** A figure that may support a decision, with half the width of its 95 % interval. */
export const measured = z
  .object({ value: z.number(), plusMinus: z.number().nullable() })
  .meta({ description: 'a value and the half width of its 95 % interval in the same unit; null where none is known' });
