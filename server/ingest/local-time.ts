import { IANAZone } from 'luxon';
import { offsetMinutes } from './timestamp.ts';

const DAY_MS = 86_400_000;
const QUARTER_MS = 900_000;

/** The instants at which a local clock shows one reading of date and time: one, none, or two when it is put back. */
export type LocalInstants =
  | { readonly kind: 'one'; readonly time: number }
  | { readonly kind: 'none' }
  | { readonly kind: 'two'; readonly first: number; readonly second: number };

/** A clock on a wall: its civil time, taken as if it were UTC ms, to the instants it can mean. */
export interface LocalClock {
  readonly name: string;
  instants(civil: number): LocalInstants;
}

/**
 * The clock of an IANA zone (`Europe/London`) or of a fixed offset from UTC (`+02:00`, `UTC+2`, `UTC`).
 *
 * @throws RangeError when there is no such zone
 */
export function localClock(zone: string): LocalClock {
  const text = zone.trim();
  const shift = /^(?:utc|gmt)$/i.test(text) ? 0 : offsetMinutes(text.replace(/^(?:utc|gmt)\s*/i, ''));
  if (shift !== null) return fixedClock(shift);
  if (!IANAZone.isValidZone(text)) {
    throw new RangeError(
      `the zone ${zone} is not known; give an IANA zone such as Europe/London, or an offset such as +02:00`,
    );
  }
  return zoneClock(text);
}

function fixedClock(minutes: number): LocalClock {
  const absolute = Math.abs(minutes);
  const hours = String(Math.floor(absolute / 60)).padStart(2, '0');
  const rest = String(absolute % 60).padStart(2, '0');
  return {
    name: minutes === 0 ? 'UTC' : `UTC${minutes < 0 ? '-' : '+'}${hours}:${rest}`,
    instants: (civil) => ({ kind: 'one', time: civil - minutes * 60_000 }),
  };
}

function zoneClock(name: string): LocalClock {
  const zone = IANAZone.create(name);
  // Clocks change on quarter hours, so a log in order of time asks for each quarter of an hour once.
  let quarter = Number.NaN;
  let offsets: readonly number[] = [];

  function offsetsAt(civil: number): readonly number[] {
    const wanted = Math.floor(civil / QUARTER_MS);
    if (wanted === quarter) return offsets;
    quarter = wanted;
    const around = new Set([zone.offset(civil - DAY_MS), zone.offset(civil + DAY_MS)]);
    offsets = [...around].filter((offset) => zone.offset(civil - offset * 60_000) === offset).sort((a, b) => b - a);
    return offsets;
  }

  return {
    name,
    instants(civil) {
      const [earlier, later] = offsetsAt(civil);
      if (earlier === undefined) return { kind: 'none' };
      if (later === undefined) return { kind: 'one', time: civil - earlier * 60_000 };
      return { kind: 'two', first: civil - earlier * 60_000, second: civil - later * 60_000 };
    },
  };
}
