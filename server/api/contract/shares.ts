import { z } from 'zod';
import { instant, name } from './values.ts';

export const shareLink = z
  .object({
    id: z.int(),
    label: z.string().meta({ description: 'who it is for' }),
    createdAt: instant,
    expiresAt: instant,
    revokedAt: instant.nullable(),
    opened: z.int().meta({ description: 'how often it was opened' }),
    openedAt: instant.nullable(),
    state: z.enum(['open', 'expired', 'revoked', 'lost']).meta({
      description:
        'lost: the pack it showed is not here any more, as after a backup was put back, and it leads nowhere',
    }),
  })
  .meta({ id: 'ShareLink', description: 'a link that shows one report to whoever holds it' });

export const newShareLink = z.strictObject({
  pack: z.uuid().meta({ description: 'a pack that is ready; what it holds is what the link shows' }),
  label: name,
  days: z.int().min(1).max(365).meta({ description: 'days until it expires' }),
});

export const shareLinkMade = shareLink.extend({
  path: z.string().meta({ description: 'what the link leads to on this server; given this once' }),
});

export type ShareLinkWire = z.infer<typeof shareLink>;
