import type { Batch } from '../../../server/store/port.ts';
import { message, NEW_YEAR, readingOf } from '../contract/given.ts';

export const BATCH_SIZE = 20;

/** The batch of that number: its readings and one message for quarantine, all with its number in them. */
export const batchOf = (k: number): Batch => ({
  receivedAt: NEW_YEAR + k,
  readings: Array.from({ length: BATCH_SIZE }, (_, j) =>
    readingOf({ id: 1 }, `sensor-${j}`, 'co2', NEW_YEAR + k * 60_000, k + j / 1000),
  ),
  quarantined: [message({ receivedAt: k })],
});
