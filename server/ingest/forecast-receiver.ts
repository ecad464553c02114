import type { OutdoorFeed } from '../analysis/forecast/tonight-forecast.ts';
import type { Store } from '../store/port.ts';
import { FORECAST_KEY, readOutdoorForecast } from './outdoor-forecast.ts';
import { type Intake, RETAINED, type Receipt, type Receiver, receiveBy } from './receiver.ts';
import { quoteText } from './timestamp.ts';
import { type Address, readTopic } from './topic.ts';
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
  async function readForecast(
    { dwellingSlug }: SensorAddress,
    payload: Uint8Array,
    receivedAt: number,
  ): Promise<ForecastMessage> {
    const dwelling = (await store.dwellings()).find(({ slug }) => slug === dwellingSlug);
    if (!dwelling) {
      const message = `there is no dwelling ${quoteText(dwellingSlug)}: change the topic, or add the dwelling`;
      return { kind: 'rejected', fault: { code: 'bad-forecast', message } };
    }
    const read = readOutdoorForecast(payload, receivedAt);
    return read.kind === 'rejected' ? read : { ...read, dwellingId: dwelling.id };
  }

  async function keepForecast({ dwellingId, forecast }: UnderstoodForecast): Promise<void> {
    if (await store.keepOutdoorForecast(dwellingId, forecast)) onKept(dwellingId);
  }

  async function receiveForecast(
    address: SensorAddress,
    source: string,
    topic: string,
    payload: Uint8Array,
  ): Promise<Receipt> {
    const receivedAt = clock();
    const read = await readForecast(address, payload, receivedAt);
    if (read.kind === 'rejected') {
      await writer.write({ source, topic, payload, receivedAt, readings: [], fault: read.fault });
      return { kind: 'quarantined', fault: read.fault };
    }
    await keepForecast(read);
    return { kind: 'stored', readings: read.hours, fault: null };
  }

  function take(...message: Parameters<Intake['take']>): void {
    const [from, topic, payload, delivery, received] = message;
    const address = forecastAddress(topic);
    if (address === null) receiver.take(...message);
    else {
      receiveForecast(address, delivery === 'retained' ? RETAINED : from, topic, payload).then(
        (receipt) => received(null, receipt),
        (error: unknown) => received(error, null),
      );
    }
  }

  return {
    ...receiver,
    take,
    receive: receiveBy(take),
    async read(topic, payload, receivedAt, behindMs = 0) {
      const address = forecastAddress(topic);
      return address === null
        ? receiver.read(topic, payload, receivedAt, behindMs)
        : readForecast(address, payload, receivedAt + behindMs);
    },
    keepForecast,
  };
}

type SensorAddress = Extract<Address, { kind: 'sensor' }>;

/** Null: what comes on the topic is no forecast. */
function forecastAddress(topic: string): SensorAddress | null {
  if (!topic.endsWith(FORECAST_KEY)) return null;
  const address = readTopic(topic);
  return address.kind === 'sensor' && address.sensorKey === FORECAST_KEY ? address : null;
}
