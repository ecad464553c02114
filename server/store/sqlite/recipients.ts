import type { Recipient } from '../port.ts';
import { recipientColumns, toRecipient } from '../recipient-rows.ts';
import type { Connection } from './database.ts';
import { findRow, listRows } from './rows.ts';

export const listRecipients = (db: Connection, dwellingId: number): Recipient[] =>
  listRows(db, 'recipient', recipientColumns, dwellingId, 'id').map(toRecipient);

export const findRecipient = (db: Connection, dwellingId: number, id: number): Recipient =>
  toRecipient(findRow(db, 'recipient', recipientColumns, dwellingId, id));
