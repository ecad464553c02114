import type { OutboxStore } from '../store/port.ts';
import { emailChannel, type MailServer } from './channels/email.ts';
import { allowedRanges } from './channels/public-address.ts';
import { webhookChannel } from './channels/webhook.ts';
import { createOutboxSender, type OutboxSender, type SenderParts } from './outbox-sender.ts';

export interface DeliverySettings {
  readonly mailServer: Omit<MailServer, 'authorities'> | null;
  readonly publicAddress: string | null;
  /** addresses and ranges of the home network that webhooks may reach */
  readonly webhookRanges: readonly string[];
  /** further certificates to trust, PEM */
  readonly authorities: readonly string[];
  /** of the program */
  readonly version: string;
}

/** The sender with its channels, and what of the settings may be shown. */
export interface Delivery {
  readonly sender: OutboxSender;
  /** address that mail is sent from; null: no mail server has been set */
  readonly mailFrom: string | null;
  readonly publicAddress: string | null;
}

export function openDelivery(
  store: OutboxStore,
  { mailServer, publicAddress, webhookRanges, authorities, version }: DeliverySettings,
  parts: Pick<SenderParts, 'clock' | 'chance' | 'log' | 'onChanged'>,
): Delivery {
  const sender = createOutboxSender({
    ...parts,
    store,
    publicAddress,
    channels: {
      email: emailChannel(mailServer === null ? null : { ...mailServer, authorities }),
      webhook: webhookChannel({ version, allowed: allowedRanges(webhookRanges), authorities, clock: parts.clock }),
    },
  });
  return { sender, mailFrom: mailServer?.from.address ?? null, publicAddress };
}
