import { IANAZone } from 'luxon';
import { seedOf, smoothNoise } from './random.ts';

/** A span of time, `from` included, `to` excluded, UTC milliseconds. */
export interface TimeSpan {
  readonly from: number;
  readonly to: number;
}

/** How a bedroom is lived in. Clock hours are local to the zone. */
export interface Living {
  readonly seed: number;
  /** IANA time zone */
  readonly zone: string;
  /** wanted temperature while the heating is on, °C, and local hours `[from, to)` in which it is */
  readonly heatedTo: number;
  readonly heatingHours: readonly (readonly [number, number])[];
  /** spans without heating although it is wanted */
  readonly heatingOff: readonly TimeSpan[];
  /** vapour that reaches the room at any time from the rest of the home, g/h */
  readonly background: number;
  /** people asleep in it, from 22:30 to 7:00, each giving off 40 g/h */
  readonly sleepers: number;
  /** spans in which laundry dries in the room by day, and what it gives off, g/h */
  readonly laundry: readonly TimeSpan[];
  readonly laundryRate: number;
  /** spans with a window left open, and air changes per hour then */
  readonly windowOpen: readonly TimeSpan[];
  readonly windowChanges: number;
  /** air changes per hour with the window shut, in winter */
  readonly airChanges: number;
}

export interface LivingHour {
  /** °C, or null where nothing heats */
  readonly heatedTo: number | null;
  /** g/h */
  readonly moisture: number;
  /** per hour */
  readonly airChanges: number;
}

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
/** Vapour given off by a sleeping person, g/h. @source BS 5250 (from memory) */
const SLEEPER = 40;

const within = (spans: readonly TimeSpan[], time: number): boolean =>
  spans.some((span) => time >= span.from && time < span.to);

/** Local clock of a zone, h after midnight. Asks for the offset once a day where it does not change that day. */
function clockOf(zoneName: string): (time: number) => number {
  const zone = IANAZone.create(zoneName);
  if (!zone.isValid) throw new RangeError(`zone is ${zoneName}; it must be an IANA time zone such as Europe/London`);
  let day = Number.NaN;
  let offset: number | null = null;
  return (time) => {
    const now = Math.floor(time / DAY);
    if (now !== day) {
      day = now;
      const begins = zone.offset(now * DAY);
      offset = begins === zone.offset((now + 1) * DAY) ? begins : null;
    }
    const local = time + (offset ?? zone.offset(time)) * 60_000;
    return (((local % DAY) + DAY) % DAY) / HOUR;
  };
}

/** What people do to the room in the hour that begins at a time, given the outdoor temperature, °C. */
export function livingHours(living: Living): (time: number, outdoor: number) => LivingHour {
  const clockAt = clockOf(living.zone);
  const habits = seedOf(living.seed, 'living: habit');
  const airings = seedOf(living.seed, 'living: airing');
  return (time, outdoor) => {
    const clock = clockAt(time);
    const habit = smoothNoise(habits, time / (20 * HOUR));
    const airing = smoothNoise(airings, time / (9 * HOUR));
    const on = living.heatingHours.some(([from, to]) => clock >= from && clock < to);
    const asleep = clock >= 22.5 || clock < 7;
    const drying = within(living.laundry, time) && clock >= 10 && clock < 22;
    // windows stand open more as it gets warm outside: from 12 °C on, wide at 20 °C
    const warm = Math.min(1, Math.max(0, (outdoor - 12) / 8));
    const shut = living.airChanges * Math.exp(0.25 * airing);
    return {
      heatedTo: on && !within(living.heatingOff, time) ? living.heatedTo : null,
      moisture: Math.max(
        5,
        living.background * (1 + 0.35 * habit) +
          (asleep ? SLEEPER * living.sleepers : 0) +
          (drying ? living.laundryRate : 0),
      ),
      airChanges: within(living.windowOpen, time) ? living.windowChanges : shut + 2.5 * warm,
    };
  };
}
