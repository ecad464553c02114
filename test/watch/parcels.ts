import type { Parcel } from '../../server/watch/channels/channel.ts';

export const NOW = Date.UTC(2026, 0, 14, 22, 10);

export const parcelTo = (
  address: string,
  change: { readonly [Part in keyof Parcel]?: Partial<NonNullable<Parcel[Part]>> | null } = {},
): Parcel => ({
  delivery: {
    id: 'notice-7-begun-1',
    dwellingId: 1,
    recipientId: 1,
    noticeId: 7,
    event: 'begun',
    createdAt: NOW,
    notBefore: NOW,
    body: {
      subject: 'Moisture is settling',
      text: 'The slope is below its dew point.\n\nOpen the window.',
      data: { k: -0.4 },
    },
    state: 'sending',
    attempts: 1,
    attemptsInRow: 1,
    tryingSince: NOW,
    nextAt: NOW,
    finishedAt: null,
    ...(change.delivery as object),
  },
  recipient: {
    id: 1,
    dwellingId: 1,
    name: 'Ada',
    channel: 'email',
    address,
    secret: 'a secret to sign with',
    language: 'en',
    rules: { codes: null, minimumSeverity: 'note' },
    quietHours: null,
    weeklySummary: false,
    dailyDigest: false,
    active: true,
    unsubscribedAt: null,
    ...(change.recipient as object),
  },
  dwelling: { slug: 'mill-cottage', name: 'Mill Cottage', ...(change.dwelling as object) },
  key: '0123456789abcdef0123456789abcdef',
  unsubscribeUrl: (change.unsubscribeUrl as string | null | undefined) ?? null,
});
