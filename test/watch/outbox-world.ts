import type { New, OutgoingMessage, Recipient, Store } from '../../server/store/port.ts';
import type { Channel, ChannelResult, Channels, Parcel } from '../../server/watch/channels/channel.ts';
import { type SenderParts, senderSettings } from '../../server/watch/outbox-sender.ts';
import { givenDwelling } from '../store/contract/given.ts';
import { NOW } from './parcels.ts';

/** What the sender is given in tests: a clock that is set by hand and channels that answer as they are told. */
export interface World {
  now: number;
  readonly parts: SenderParts;
  /** what was attempted, in order: recipient and message */
  readonly attempted: Parcel[];
  /** how the next attempts end; what is not told is taken */
  answer: (parcel: Parcel) => ChannelResult | Promise<ChannelResult>;
  readonly warnings: object[];
}

export const taken: ChannelResult = { kind: 'taken', detail: '250 ok' };
export const busy: ChannelResult = { kind: 'for-now', code: 'busy', detail: '450 later' };
export const refused: ChannelResult = { kind: 'for-good', code: 'address-refused', detail: '550 no such person' };

export function worldOf(store: Store, change: Partial<SenderParts> = {}): World {
  const channel: Channel = async (parcel) => {
    world.attempted.push(parcel);
    return world.answer(parcel);
  };
  const world: World = {
    now: NOW,
    attempted: [],
    answer: () => taken,
    warnings: [],
    parts: {
      store,
      channels: { email: channel, webhook: channel } satisfies Channels,
      clock: () => world.now,
      chance: () => 1,
      publicAddress: 'https://coomb.example.org',
      log: { info: () => undefined, warn: (detail) => world.warnings.push(detail) },
      settings: { ...senderSettings, lookMs: 20 },
      ...change,
    },
  };
  return world;
}

export const givenRecipient = async (
  store: Store,
  dwelling: { readonly id: number },
  change: Partial<New<Recipient>> = {},
): Promise<Recipient> =>
  store.addRecipient({
    dwellingId: dwelling.id,
    name: 'Ada',
    channel: 'email',
    address: 'ada@example.net',
    secret: change.channel === 'webhook' ? 'a secret' : null,
    language: 'en',
    rules: { codes: null, minimumSeverity: 'note' },
    quietHours: null,
    weeklySummary: false,
    dailyDigest: false,
    active: true,
    unsubscribedAt: null,
    ...change,
  });

export { givenDwelling };

export const messageTo = (
  { id, dwellingId }: Recipient,
  messageId: string,
  change: Partial<OutgoingMessage> = {},
): OutgoingMessage => ({
  id: messageId,
  dwellingId,
  recipientId: id,
  noticeId: null,
  event: 'begun',
  createdAt: NOW,
  notBefore: NOW,
  body: { subject: `About ${messageId}`, text: 'The slope is below its dew point.', data: {} },
  ...change,
});
