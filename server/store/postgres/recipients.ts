import type { Recipient } from '../port.ts';
import { type RecipientRow, recipientColumns, toRecipient } from '../recipient-rows.ts';
import type { Connection } from './database.ts';
import { findRow, listRows } from './rows.ts';

export const listRecipients = async (db: Connection, dwellingId: number): Promise<Recipient[]> =>
  (await listRows<RecipientRow>(db, 'recipient', recipientColumns, dwellingId, 'id')).map(toRecipient);

export const findRecipient = async (db: Connection, dwellingId: number, id: number): Promise<Recipient> =>
  toRecipient(await findRow<RecipientRow>(db, 'recipient', recipientColumns, dwellingId, id));
