import type { OutdoorFeed } from '../analysis/forecast/tonight-forecast.ts';
import type { Store } from '../store/port.ts';
import { FORECAST_KEY, readOutdoorForecast } from './outdoor-forecast.ts';
import {
  type Incoming,
  type Intake,
  type Outcome,
  oneOfAll,
  RETAINED,
  type Receipt,
  type Receiver,
  type Source,
} from './receiver.ts';
import { quoteText } from './timestamp.ts';
import { readTopic } from './topic.ts';
import type { Misunderstanding, Understanding } from './understand.ts';
import type { Writer } from './writer.ts';

/** An outdoor forecast that was understood, and whose home it is for. */
export interface UnderstoodForecast {
  readonly kind: 'forecast';
  readonly dwellingId: number;
  readonly forecast: OutdoorFeed;
  /** of which it says something */
  readonly hours: number;
}

/** What came under the name of outdoor forecasts. */
type ForecastMessage = UnderstoodForecast | { readonly kind: 'rejected'; readonly fault: Misunderstanding };

/** A receiver of readings and outdoor forecasts. */
export interface MessageReceiver extends Intake {
  read(...message: Parameters<Receiver['read']>): Promise<Understanding | UnderstoodForecast>;
  /** Keeps an outdoor forecast that was understood; one that is kept already does no more. */
  keepForecast(understood: UnderstoodForecast): Promise<void>;
}

const mayBeForecast = (topic: string): boolean => topic.endsWith(`/${FORECAST_KEY}`);

/**
 * A receiver that takes outdoor forecasts as well: what comes under their name goes into the store as a forecast, or into
 * quarantine with the reason. A retained one is as good as any: it says itself when it was issued.
 *
 * @param onKept called after a forecast was kept that was not there before
 */
export function withOutdoorForecasts(
  receiver: Receiver,
  store: Pick<Store, 'dwellings' | 'keepOutdoorForecast'>,
  writer: Pick<Writer, 'write'>,
  clock: () => number,
  onKept: (dwellingId: number) => void,
): MessageReceiver {
  /** Null: it is no forecast. */
  async function readForecast(topic: string, payload: Uint8Array, receivedAt: number): Promise<ForecastMessage | null> {
    const address = mayBeForecast(topic) ? readTopic(topic) : null;
    if (address?.kind !== 'sensor') return null;
    const dwelling = (await store.dwellings()).find(({ slug }) => slug === address.dwellingSlug);
    if (!dwelling) {
      const message = `there is no dwelling ${quoteText(address.dwellingSlug)}: change the topic, or add the dwelling`;
      return { kind: 'rejected', fault: { code: 'bad-forecast', message } };
    }
    const read = readOutdoorForecast(payload, receivedAt);
    return read.kind === 'rejected' ? read : { ...read, dwellingId: dwelling.id };
  }

  async function keepForecast({ dwellingId, forecast }: UnderstoodForecast): Promise<void> {
    if (await store.keepOutdoorForecast(dwellingId, forecast)) onKept(dwellingId);
  }

  /** What may be a forecast by its topic. */
  async function receiveForecast(from: Source, { topic, payload, delivery }: Incoming): Promise<Receipt> {
    const receivedAt = clock();
    const read = await readForecast(topic, payload, receivedAt);
    if (read === null) return receiver.receive(from, topic, payload, delivery);
    if (read.kind === 'rejected') {
      const source = delivery === 'retained' ? RETAINED : from;
      await writer.write([{ source, topic, payload, receivedAt, readings: [], fault: read.fault }]);
      return { kind: 'quarantined', fault: read.fault };
    }
    await keepForecast(read);
    return { kind: 'stored', readings: read.hours, fault: null };
  }

  const receiveAll: Intake['receiveAll'] = async (from, incoming) => {
    const forecasts = incoming.filter(({ topic }) => mayBeForecast(topic));
    if (forecasts.length === 0) return receiver.receiveAll(from, incoming);
    const others = incoming.filter(({ topic }) => !mayBeForecast(topic));
    const [ofForecasts, ofOthers] = await Promise.all([
      Promise.all(forecasts.map((message) => receiveForecast(from, message).catch((error: Error) => error))),
      receiver.receiveAll(from, others),
    ]);
    const outcomes = new Map<Incoming, Outcome>([
      ...forecasts.map((message, k) => [message, ofForecasts[k]!] as const),
      ...others.map((message, k) => [message, ofOthers[k]!] as const),
    ]);
    return incoming.map((message) => outcomes.get(message)!);
  };

  return {
    ...receiver,
    receiveAll,
    receive: oneOfAll(receiveAll),
    async read(topic, payload, receivedAt, behindMs = 0) {
      return (
        (await readForecast(topic, payload, receivedAt + behindMs)) ??
        receiver.read(topic, payload, receivedAt, behindMs)
      );
    },
    keepForecast,
  };
}
