import { STATE_ROOT } from '../analysis/delivery-vocabulary.ts';
import type { DwellingNow, PlaceNow } from '../analysis/now.ts';
import type { NightAhead } from '../analysis/watch/history.ts';
import { dayText } from '../store/canonical.ts';
import type { DaySeal, WatchNotice } from '../store/port.ts';

/** After so long without being said again a state is stale, ms. */
export const STATE_HOLDS_MS = 30 * 60_000;

export interface StateMessage {
  readonly topic: string;
  /** JSON */
  readonly payload: string;
}

/** What the states of a home are made of. */
export interface HomeState {
  readonly slug: string;
  readonly name: string;
  readonly now: DwellingNow;
  /** surfaces whose coming night can be forecast */
  readonly nights: readonly Pick<NightAhead, 'placeId' | 'chance'>[];
  readonly notices: readonly WatchNotice[];
  /** the last of the chain; null: no day is sealed yet */
  readonly seal: DaySeal | null;
}

/** One message a place, one for the whole home and one for its last seal, for programs that switch a fan or a dehumidifier. */
export function stateMessages({ slug, name, now, nights, notices, seal }: HomeState, time: number): StateMessage[] {
  const open = notices.filter(({ endedAt, withdrawnAt }) => endedAt === null && withdrawnAt === null);
  const codes = (of: readonly WatchNotice[]): string[] => [...new Set(of.map(({ rule }) => rule))];
  const stamp = { time: new Date(time).toISOString(), valid_until: new Date(time + STATE_HOLDS_MS).toISOString() };
  const chances = nights.map(({ chance }) => chance);
  return [
    {
      topic: `${STATE_ROOT}/${slug}/home`,
      payload: JSON.stringify({
        name,
        ...stamp,
        chance_tonight: chances.length === 0 ? null : rounded(Math.max(...chances), 3),
        notices: codes(open),
      }),
    },
    ...now.places.map((place) => ({
      topic: `${STATE_ROOT}/${slug}/place/${place.placeId}`,
      payload: JSON.stringify({
        name: place.name,
        kind: place.kind,
        ...stamp,
        reading_time: place.at === null ? null : new Date(place.at).toISOString(),
        state: place.state.code,
        ...figuresOf(place),
        chance_tonight: rounded(nights.find(({ placeId }) => placeId === place.placeId)?.chance ?? null, 3),
        notices: codes(open.filter(({ placeId }) => placeId === place.placeId)),
      }),
    })),
    ...(seal === null ? [] : [sealMessage(slug, seal)]),
  ];
}

/**
 * The last entry of the chain of sealed days, for a program elsewhere that keeps each as it comes: whoever received an entry
 * at the time can tell later that no day up to it was made anew. The names are those of the columns of a pack's chain.csv.
 */
const sealMessage = (slug: string, seal: DaySeal): StateMessage => ({
  topic: `${STATE_ROOT}/${slug}/seal`,
  payload: JSON.stringify({
    day: dayText(seal.day),
    readings: seal.readings,
    previous: seal.previous,
    entry: seal.entry,
    sealed_at: new Date(seal.sealedAt).toISOString(),
  }),
});

const figuresOf = ({ margin, surfaceHumidity, temperature, humidity, timberMoisture }: PlaceNow) => ({
  margin_k: rounded(margin?.value ?? null, 2),
  margin_uncertainty_k: rounded(margin?.plusMinus ?? null, 2),
  surface_humidity_pct: rounded(surfaceHumidity?.value ?? null, 1),
  temperature_c: rounded(temperature?.value ?? null, 2),
  humidity_pct: rounded(humidity?.value ?? null, 1),
  timber_moisture_pct: rounded(timberMoisture?.value ?? null, 1),
});

const rounded = (value: number | null, places: number): number | null =>
  value === null ? null : Number(value.toFixed(places));
