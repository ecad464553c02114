import { columnOver } from '../phase-hours.ts';
import { HOUR_MS } from '../vocabulary.ts';
import { feedAt } from './feed.ts';
import { type Mixture, quantileOf, shareBelow } from './mixture.ts';
import { type Night, tonight } from './night.ts';
import { type NightCourse, nightCourse, type Outdoors, persistencesOf } from './night-course.ts';
import { type ForecastSettings, forecastSettings } from './settings.ts';
import type { ForecastInput, ShortReason, TonightForecast } from './tonight-forecast.ts';
import { type Window, windowOf } from './window.ts';

/** Ends of the interval of the lowest margin. */
const LOW = 0.05;
const HIGH = 0.95;
/** Error of an outdoor forecast of the next night where none was ever compared with what came, K; common practice, no source. */
const UNTESTED_FEED_K = 1.5;

/**
 * The chance that tonight is a condensation night of one surface, its lowest margin and when.
 *
 * The night's course is expected from habit, from what lasts of today's departure from it, and from the surface's response
 * ({@link nightCourse}). The same is done for each past night as though it still lay ahead; by how much each of those went
 * wrong, hour by hour, is laid over tonight's course (residual bootstrap of whole nights: Efron & Tibshirani 1993, ch. 9),
 * every past night once, so that nothing is drawn. The lowest margins of these courses, each blurred by a kernel that
 * holds the sensors' uncertainty ({@link Mixture}), are the distribution.
 */
export function forecastTonight(input: ForecastInput, settings: ForecastSettings = forecastSettings): TonightForecast {
  const night = tonight(input.now, input.zone);
  const silent = silentReasons(input, settings);
  if (silent.length > 0) return { kind: 'not-enough', night, reasons: silent };
  const window = windowOf(input, night.to, settings);
  if (window === null) return notEnough(night, { code: 'no-response', data: { nightsWanted: settings.fewestNights } });
  const { known, leads, start, margin } = window;
  const now = start + known * HOUR_MS;
  const first = Math.max(0, Math.round((night.from - now) / HOUR_MS));
  const past = pastOrigins(window, first, settings);
  if (past.length < settings.fewestNights) {
    return notEnough(night, { code: 'few-nights', data: { nights: past.length, nightsWanted: settings.fewestNights } });
  }

  const persistences = persistencesOf(window, past);
  const feed = input.coldIs === 'outdoor' ? feedAt(input.feeds, input.now, now, leads, settings.staleFeedHours) : null;
  const course = nightCourse(window, persistences, known, feed?.outdoors ?? null);
  const withFeed = feed === null ? [] : pastFeeds(input, window, past, settings);
  const tested = withFeed.length >= settings.fewestNights;
  const origins =
    feed !== null && tested ? withFeed : past.map((origin) => ({ origin, outdoors: feed && came(window, origin) }));
  const members: number[] = [];
  const votes = new Float64Array(leads);
  let pastWet = 0;
  let errorSum = 0;
  let errorSquares = 0;
  for (const { origin, outdoors } of origins) {
    const hindcast = nightCourse(window, persistences, origin, outdoors);
    const errors = errorsOf(window, hindcast, origin, first);
    if (errors === null) continue;
    const own = lowestOf(course.margin, errors, first);
    members.push(own.value);
    votes[own.lead]! += 1;
    const then = lowestOf(hindcast.margin, errors, first).value;
    const error = then - lowestOf(hindcast.margin, null, first).value;
    errorSum += error;
    errorSquares += error * error;
    if (then <= 0) pastWet += 1;
  }
  const count = members.length;
  if (count < settings.fewestNights) {
    return notEnough(night, { code: 'few-nights', data: { nights: count, nightsWanted: settings.fewestNights } });
  }

  const { fit } = window.response;
  const untested = feed !== null && !tested ? UNTESTED_FEED_K * (1 - fit.f) : 0;
  const mixture: Mixture = {
    members: Float64Array.from(members),
    spread: Math.hypot(settings.kernelK, window.sensorUncertaintyK, untested),
  };
  const seen = seenTonight(margin, known, Math.round((now - night.from) / HOUR_MS));
  const seenLow = seen.lowest ?? Number.POSITIVE_INFINITY;
  const lead = highest(votes);
  const isLowestSeen = seenLow <= quantileOf(mixture, 0.5);
  const quantile = (share: number): number => Math.min(seenLow, quantileOf(mixture, share));
  return {
    kind: 'forecast',
    night,
    chance: seenLow <= 0 ? 1 : shareBelow(mixture, 0),
    minimumMargin: { value: quantile(0.5), low: quantile(LOW), high: quantile(HIGH) },
    at: isLowestSeen ? start + seen.at * HOUR_MS : now + lead * HOUR_MS,
    basis: feed !== null ? 'forecast-feed' : input.coldIs === 'loft' ? 'loft-referenced' : 'own-outdoor',
    working: {
      pastNights: count,
      pastRate: pastWet / count,
      f: fit.f,
      coldLagHours: fit.coldLagHours,
      roomLagHours: fit.roomLagHours,
      hoursSeen: seen.hours,
      lowestSeenK: seen.lowest,
      pastErrorK: Math.sqrt(Math.max(0, errorSquares / count - (errorSum / count) ** 2)),
      sensorUncertaintyK: window.sensorUncertaintyK,
      expected: {
        surfaceC: course.surface[lead]!,
        roomC: course.room[lead]!,
        coldC: course.cold[lead]!,
        dewPointC: course.dewPoint[lead]!,
      },
      feedIssued: feed?.issued ?? null,
      staleFeedIssued: feed === null ? newestIssued(input) : null,
    },
  };
}

const notEnough = (night: Night, ...reasons: ShortReason[]): TonightForecast => ({
  kind: 'not-enough',
  night,
  reasons,
});

/** Sensors that have said nothing for so long that today cannot be told from any other day. */
function silentReasons(input: ForecastInput, settings: ForecastSettings): ShortReason[] {
  const until = Math.floor(input.now / HOUR_MS) * HOUR_MS;
  const hours = settings.silentHours;
  const heard = (place: 'surface' | 'room' | 'cold', column: 'temperature' | 'vapourPressure'): boolean =>
    columnOver(input[place], column, until - hours * HOUR_MS, hours).some((value) => !Number.isNaN(value));
  const reasons: ShortReason[] = [];
  if (!heard('surface', 'temperature')) reasons.push({ code: 'surface-silent', data: { hours } });
  if (!heard('room', 'temperature')) reasons.push({ code: 'room-silent', data: { hours } });
  else if (!heard('room', 'vapourPressure')) reasons.push({ code: 'humidity-missing', data: { hours } });
  if (!heard('cold', 'temperature')) reasons.push({ code: 'cold-side-silent', data: { hours } });
  return reasons;
}

/** Entries at this hour of earlier days whose nights are known well enough. */
function pastOrigins(window: Window, first: number, settings: ForecastSettings): number[] {
  const { known, leads, calendar, margin } = window;
  const origins: number[] = [];
  for (let i = known - leads; i >= 0; i--) {
    if (calendar.hour[i] !== calendar.hour[known]) continue;
    let told = 0;
    for (let lead = first; lead < leads; lead++) if (!Number.isNaN(margin[i + lead]!)) told += 1;
    if (told >= settings.nightCoverage * (leads - first)) origins.push(i);
  }
  return origins;
}

/** Past nights for which there was an outdoor forecast at this hour. */
function pastFeeds(
  { feeds, now }: ForecastInput,
  { start, leads, known }: Window,
  past: readonly number[],
  settings: ForecastSettings,
): { origin: number; outdoors: Outdoors }[] {
  return past.flatMap((origin) => {
    const feed = feedAt(
      feeds,
      now - (known - origin) * HOUR_MS,
      start + origin * HOUR_MS,
      leads,
      settings.staleFeedHours,
    );
    return feed === null ? [] : [{ origin, outdoors: feed.outdoors }];
  });
}

/** The weather that came, in the place of a forecast of it (perfect prognosis: Klein et al. 1959). */
const came = ({ cold, outdoorVapour, leads }: Window, origin: number): Outdoors => ({
  temperature: cold.values.slice(origin, origin + leads),
  vapourPressure: outdoorVapour.values.slice(origin, origin + leads),
});

/** By how much a past night's margins differed from what was expected, K; hours not known take the mean of the others. */
function errorsOf(
  { margin, leads }: Window,
  hindcast: NightCourse,
  origin: number,
  first: number,
): Float64Array | null {
  const errors = new Float64Array(leads);
  let sum = 0;
  let count = 0;
  for (let lead = first; lead < leads; lead++) {
    errors[lead] = margin[origin + lead]! - hindcast.margin[lead]!;
    if (Number.isNaN(errors[lead]!)) continue;
    sum += errors[lead]!;
    count += 1;
  }
  if (count === 0) return null;
  return errors.map((error) => (Number.isNaN(error) ? sum / count : error));
}

function lowestOf(margin: Float64Array, errors: Float64Array | null, first: number): { value: number; lead: number } {
  let value = Number.POSITIVE_INFINITY;
  let at = first;
  for (let lead = first; lead < margin.length; lead++) {
    const own = margin[lead]! + (errors === null ? 0 : errors[lead]!);
    if (own < value) {
      value = own;
      at = lead;
    }
  }
  return { value, lead: at };
}

function seenTonight(
  margin: Float64Array,
  known: number,
  hours: number,
): { hours: number; lowest: number | null; at: number } {
  let lowest: number | null = null;
  let at = 0;
  let count = 0;
  for (let i = known - Math.max(0, hours); i < known; i++) {
    const own = margin[i]!;
    if (Number.isNaN(own)) continue;
    count += 1;
    if (lowest === null || own < lowest) {
      lowest = own;
      at = i;
    }
  }
  return { hours: count, lowest, at };
}

const highest = (votes: Float64Array): number => votes.indexOf(Math.max(...votes));

function newestIssued({ feeds, now }: ForecastInput): number | null {
  const known = feeds.filter(({ received }) => received <= now).map(({ issued }) => issued);
  return known.length === 0 ? null : Math.max(...known);
}
