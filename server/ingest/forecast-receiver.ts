import type { Store } from '../store/port.ts';
import { FORECAST_KEY, readOutdoorForecast } from './outdoor-forecast.ts';
import { RETAINED, type ReceiptFault, type Receiver } from './receiver.ts';
import { quoteText } from './timestamp.ts';
import { readTopic } from './topic.ts';
import type { Writer } from './writer.ts';

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
): Receiver {
  return {
    ...receiver,
    async receive(from, topic, payload, delivery = 'live') {
      const address = readTopic(topic);
      if (address.kind !== 'sensor' || address.sensorKey !== FORECAST_KEY) {
        return receiver.receive(from, topic, payload, delivery);
      }
      const receivedAt = clock();
      const setAside = async (fault: ReceiptFault) => {
        const source = delivery === 'retained' ? RETAINED : from;
        await writer.write({ source, topic, payload, receivedAt, readings: [], fault });
        return { kind: 'quarantined', fault } as const;
      };
      const dwelling = (await store.dwellings()).find(({ slug }) => slug === address.dwellingSlug);
      if (!dwelling) {
        const message = `there is no dwelling ${quoteText(address.dwellingSlug)}: change the topic, or add the dwelling and send the forecast again`;
        return setAside({ code: 'bad-forecast', message });
      }
      const read = readOutdoorForecast(payload, receivedAt);
      if (read.kind === 'rejected') return setAside(read.fault);
      if (await store.keepOutdoorForecast(dwelling.id, read.forecast)) onKept(dwelling.id);
      return { kind: 'stored', readings: read.hours, fault: null };
    },
  };
}
