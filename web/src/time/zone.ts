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

const midnights = new Map<string, Map<number, number>>();

/** The instant at which a local day begins; days are counted from 1970. Kept, for charts ask for the same days again and again. */
function midnightOf(zone: string, day: number): number {
  let known = midnights.get(zone);
  if (known === undefined) {
    known = new Map();
    midnights.set(zone, known);
  }
  let at = known.get(day);
  if (at === undefined) {
    at = instantOf(zone, day * DAY_MS);
    known.set(day, at);
  }
  return at;
}

/** The local midnights from the one at or before `from` up to before `to`. */
export function localMidnights(zone: string, from: number, to: number): number[] {
  const found: number[] = [];
  let day = Math.floor(wallOf(zone, from) / DAY_MS);
  for (let at = midnightOf(zone, day); at < to; at = midnightOf(zone, day)) {
    found.push(at);
    day += 1;
  }
  return found;
}

export interface Stretch {
  readonly from: number;
  readonly to: number;
}

const nightsKnown = new Map<string, readonly [dusk: number, dawn: number]>();

/** The night that begins on a local day. */
function nightAfter(zone: string, midnight: number, nightFrom: number, nightTo: number): readonly [number, number] {
  const key = `${zone} ${midnight} ${nightFrom} ${nightTo}`;
  let night = nightsKnown.get(key);
  if (night === undefined) {
    const wall = wallOf(zone, midnight);
    const dawn = wall + (nightTo > nightFrom ? 0 : DAY_MS) + nightTo * HOUR_MS;
    night = [instantOf(zone, wall + nightFrom * HOUR_MS), instantOf(zone, dawn)];
    nightsKnown.set(key, night);
  }
  return night;
}

/** The local nights that touch a span, cut to it. Hours of the clock, e.g. 18 and 8. */
export function nights(zone: string, from: number, to: number, nightFrom: number, nightTo: number): Stretch[] {
  const found: Stretch[] = [];
  for (const midnight of localMidnights(zone, from - DAY_MS, to)) {
    const [dusk, dawn] = nightAfter(zone, midnight, nightFrom, nightTo);
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
