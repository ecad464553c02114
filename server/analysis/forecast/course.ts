/**
 * A series of hours, its habit, and how far the departure from habit seen at one hour lives on into the hours after it.
 */
export interface Course {
  /** NaN: not known */
  readonly values: Float64Array;
  readonly habit: Float64Array;
  /** last known departure from habit before an entry; NaN where that is too long ago */
  readonly departure: Float64Array;
}

/** @param seenHours hours after which a departure says nothing about now */
export function courseOf(values: Float64Array, known: number, habit: Float64Array, seenHours: number): Course {
  const departure = new Float64Array(habit.length + 1).fill(Number.NaN);
  for (let i = 1; i <= known; i++) {
    for (let k = i - 1; k >= Math.max(0, i - seenHours) && Number.isNaN(departure[i]!); k--) {
      departure[i] = values[k]! - habit[k]!;
    }
  }
  return { values, habit, departure };
}

/** Weight of "it does not last" in pairs of departures, as though so many more pairs had shown nothing. */
const HELD = 5;

/** Sums of products of the departure at the origins and the one `lead` hours on, for each lead. */
export interface Persistence {
  readonly own: Float64Array;
  readonly both: Float64Array;
  readonly pairs: Float64Array;
}

/**
 * How much of a departure lasts for so many hours: the least-squares slope through 0 of later departures on earlier ones
 * (the lagged regression of Wilks, Statistical Methods in the Atmospheric Sciences, chapter on time series), held a little
 * towards 0.
 *
 * @param origins entries at which past forecasts would have been made
 */
export function persistenceOf(course: Course, origins: readonly number[], known: number, leads: number): Persistence {
  const own = new Float64Array(leads);
  const both = new Float64Array(leads);
  const pairs = new Float64Array(leads);
  for (const origin of origins) {
    const x = course.departure[origin]!;
    if (Number.isNaN(x)) continue;
    for (let lead = 0; lead < leads && origin + lead < known; lead++) {
      const y = course.values[origin + lead]! - course.habit[origin + lead]!;
      if (Number.isNaN(y)) continue;
      own[lead]! += x * x;
      both[lead]! += x * y;
      pairs[lead]! += 1;
    }
  }
  return { own, both, pairs };
}

/**
 * What is expected of the hours from `origin` on, as known just before it: habit and what lasts of the departure.
 *
 * @param judged false: the origin lies among those the persistence was fitted to, and is taken out of it first
 */
export function expected(
  course: Course,
  { own, both, pairs }: Persistence,
  origin: number,
  leads: number,
  place: 'among-the-fitted' | 'new',
): Float64Array {
  const out = new Float64Array(leads);
  const departure = course.departure[origin]!;
  const x = Number.isNaN(departure) ? 0 : departure;
  for (let lead = 0; lead < leads; lead++) {
    let xx = own[lead]!;
    let xy = both[lead]!;
    let n = pairs[lead]!;
    if (place === 'among-the-fitted') {
      const y = course.values[origin + lead]! - course.habit[origin + lead]!;
      if (!Number.isNaN(y) && !Number.isNaN(departure)) {
        xx -= x * x;
        xy -= x * y;
        n -= 1;
      }
    }
    const held = n > 0 ? (xx / n) * HELD : 0;
    const share = xx + held > 0 ? Math.min(1, Math.max(0, xy / (xx + held))) : 0;
    out[lead] = course.habit[origin + lead]! + share * x;
  }
  return out;
}
