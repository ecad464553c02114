/**
 * Local time of the dwelling, by the browser's own time zone tables. Instants are UTC milliseconds; `wall` is what a
 * clock on the dwelling's wall shows, written as the UTC milliseconds of the same digits.
 */
const MINUTE_MS = 60_000;
const HOUR_MS = 3_600_000;
const DAY_MS = 86_400_000;

const clocks = new Map<string, Intl.DateTimeFormat>();

function clockOf(zone: string): Intl.DateTimeFormat {
  let clock = clocks.get(zone);
  if (clock === undefined) {
    clock = new Intl.DateTimeFormat('en-GB', {
      timeZone: zone,
      hourCycle: 'h23',
      year: 'numeric',
      month: 'numeric',
      day: 'numeric',
      hour: 'numeric',
      minute: 'numeric',
      second: 'numeric',
    });
    clocks.set(zone, clock);
  }
  return clock;
}

/** What the clock on the wall shows at an instant. */
export function wallOf(zone: string, instant: number): number {
  const part: Partial<Record<Intl.DateTimeFormatPartTypes, number>> = {};
  for (const { type, value } of clockOf(zone).formatToParts(instant)) part[type] = Number(value);
  const seconds = Date.UTC(part.year!, part.month! - 1, part.day!, part.hour!, part.minute!, part.second!);
  return seconds + (((instant % 1000) + 1000) % 1000);
}

/**
 * The instant at which the wall clock shows `wall`: the earlier one where the clock shows it twice, and the instant of
 * the jump where it never does.
 */
export function instantOf(zone: string, wall: number): number {
  const offset = (at: number) => wallOf(zone, at) - at;
  const early = wall - offset(wall - DAY_MS);
  const late = wall - offset(wall + DAY_MS);
  const fits = [early, late].filter((at) => wallOf(zone, at) === wall);
  if (fits.length > 0) return Math.min(...fits);
  let [low, high] = [Math.min(early, late), Math.max(early, late)];
  while (high - low > MINUTE_MS) {
    const middle = Math.floor((low + high) / 2 / MINUTE_MS) * MINUTE_MS;
    if (middle <= low) break;
    if (wallOf(zone, middle) < wall) low = middle;
    else high = middle;
  }
  return high;
}

/** The local midnight at or before an instant. */
export function localMidnight(zone: string, instant: number): number {
  const wall = wallOf(zone, instant);
  return instantOf(zone, wall - (((wall % DAY_MS) + DAY_MS) % DAY_MS));
}

/** Every local midnight from the one at or before `from` to the last before `to`. */
export function localMidnights(zone: string, from: number, to: number): number[] {
  const midnights: number[] = [];
  let wall = wallOf(zone, localMidnight(zone, from));
  wall -= ((wall % DAY_MS) + DAY_MS) % DAY_MS;
  for (let at = instantOf(zone, wall); at < to; at = instantOf(zone, wall)) {
    midnights.push(at);
    wall += DAY_MS;
  }
  return midnights;
}

export interface Stretch {
  readonly from: number;
  readonly to: number;
}

/** The local nights that touch a span, cut to it. Hours of the clock, e.g. 18 and 8. */
export function nights(zone: string, from: number, to: number, nightFrom: number, nightTo: number): Stretch[] {
  const found: Stretch[] = [];
  for (const midnight of localMidnights(zone, from - DAY_MS, to)) {
    const wall = wallOf(zone, midnight);
    const dusk = instantOf(zone, wall + nightFrom * HOUR_MS);
    const dawn = instantOf(zone, wall + (nightTo > nightFrom ? nightTo * HOUR_MS : DAY_MS + nightTo * HOUR_MS));
    const night = { from: Math.max(dusk, from), to: Math.min(dawn, to) };
    if (night.from < night.to) found.push(night);
  }
  return found;
}

/** 1 October, local midnight, of the winter an instant belongs to. */
export function winterStart(zone: string, instant: number): number {
  const wall = new Date(wallOf(zone, instant));
  const year = wall.getUTCMonth() >= 9 ? wall.getUTCFullYear() : wall.getUTCFullYear() - 1;
  return instantOf(zone, Date.UTC(year, 9, 1));
}

/** Local days since 1 October of the winter that holds `origin`, 0 on that day. */
export function dayOfWinter(zone: string, instant: number, origin: number = instant): number {
  const first = wallOf(zone, winterStart(zone, origin));
  return Math.floor((wallOf(zone, instant) - first) / DAY_MS);
}

/** For `<input type="datetime-local">`: local time as `YYYY-MM-DDTHH:mm`. */
export const toInput = (zone: string, instant: number): string =>
  new Date(wallOf(zone, instant)).toISOString().slice(0, 16);

/** From `<input type="datetime-local">`: ISO 8601 in UTC, or null where it is not a time. */
export function fromInput(zone: string, text: string): string | null {
  const wall = Date.parse(`${text}Z`);
  return Number.isFinite(wall) ? new Date(instantOf(zone, wall)).toISOString() : null;
}
