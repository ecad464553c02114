import { readFileSync, renameSync, writeFileSync } from 'node:fs';
import { z } from 'zod';

const stretch = z.object({ offset: z.number(), afterId: z.int().nonnegative() });
const clockRecord = z.object({
  /** of the boot of this computer in which all of it was seen */
  boot: z.string().min(1),
  /** how long the computer had been running when it was written, ms */
  uptime: z.number(),
  current: stretch,
  past: z.array(stretch.extend({ untilId: z.int().nonnegative(), triedWith: z.number() })).readonly(),
});

/** What was seen of the clock of this computer, kept for the next start within the same boot. */
export type ClockRecord = Readonly<z.infer<typeof clockRecord>>;

export interface ClockMemory {
  /** names the boot of this computer; null: it cannot be told, and nothing is remembered */
  readonly boot: string | null;
  /** null: there is none that can be read */
  load(): ClockRecord | null;
  /** Never throws: a record that cannot be written is only missed after another start. */
  save(record: ClockRecord): void;
}

/**
 * Remembers in a file.
 *
 * @source random(4), /proc/sys/kernel/random/boot_id: "generated once", at boot (Linux)
 */
export function clockMemoryAt(path: string): ClockMemory {
  return {
    boot: bootOf('/proc/sys/kernel/random/boot_id'),
    load() {
      try {
        return clockRecord.parse(JSON.parse(readFileSync(path, 'utf8')));
      } catch {
        return null;
      }
    },
    save(record) {
      try {
        const part = `${path}.part`;
        writeFileSync(part, JSON.stringify(record), { mode: 0o600 });
        renameSync(part, path);
      } catch {
        // a full disk is told elsewhere
      }
    },
  };
}

function bootOf(path: string): string | null {
  try {
    return readFileSync(path, 'utf8').trim() || null;
  } catch {
    return null;
  }
}
