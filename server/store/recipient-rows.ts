import { recipientChannels, severities } from '../analysis/delivery-vocabulary.ts';
import { filled, oneOf, wholeTime } from './arguments.ts';
import type { Recipient } from './port.ts';
import type { Columns } from './row-columns.ts';

export interface RecipientRow
  extends Omit<Recipient, 'rules' | 'quietHours' | 'weeklySummary' | 'dailyDigest' | 'active'> {
  readonly ruleCodes: string | null;
  readonly minimumSeverity: Recipient['rules']['minimumSeverity'];
  readonly quietFromMinute: number | null;
  readonly quietToMinute: number | null;
  readonly quietBreakFor: string | null;
  readonly weeklySummary: number;
  readonly dailyDigest: number;
  readonly active: number;
}

export const recipientColumns: Columns<RecipientRow> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  name: 'name',
  channel: 'channel',
  address: 'address',
  secret: 'secret',
  language: 'language',
  ruleCodes: 'rule_codes',
  minimumSeverity: 'minimum_severity',
  quietFromMinute: 'quiet_from_minute',
  quietToMinute: 'quiet_to_minute',
  quietBreakFor: 'quiet_break_for',
  weeklySummary: 'weekly_summary',
  dailyDigest: 'daily_digest',
  active: 'active',
  unsubscribedAt: 'unsubscribed_at',
};

export const mayBeSentTo = ({ active, unsubscribedAt }: Recipient): boolean => active && unsubscribedAt === null;

export function checkRecipient(recipient: Omit<Recipient, 'id'>): void {
  const { name, channel, address, secret, language, rules, quietHours, unsubscribedAt } = recipient;
  filled('name', name);
  filled('address', address);
  filled('language', language);
  oneOf('channel', channel, recipientChannels);
  oneOf('minimumSeverity', rules.minimumSeverity, severities);
  if ((secret === null) === (channel === 'webhook')) {
    throw new RangeError(`secret of a recipient by ${channel} must ${channel === 'webhook' ? 'be given' : 'be null'}`);
  }
  if (quietHours !== null) {
    minuteOfDay('quietHours.fromMinute', quietHours.fromMinute);
    minuteOfDay('quietHours.toMinute', quietHours.toMinute);
  }
  if (unsubscribedAt !== null) wholeTime('unsubscribedAt', unsubscribedAt);
}

function minuteOfDay(parameter: string, minute: number): void {
  if (Number.isInteger(minute) && minute >= 0 && minute < 1440) return;
  throw new RangeError(`${parameter} is ${minute} min; it must be a whole number from 0 to 1439 min after midnight`);
}

export function toRecipient(row: RecipientRow): Recipient {
  const { ruleCodes, minimumSeverity, quietFromMinute, quietToMinute, quietBreakFor, ...rest } = row;
  return {
    ...rest,
    rules: { codes: ruleCodes === null ? null : (JSON.parse(ruleCodes) as string[]), minimumSeverity },
    quietHours:
      quietFromMinute === null
        ? null
        : {
            fromMinute: quietFromMinute,
            toMinute: quietToMinute!,
            breakFor: JSON.parse(quietBreakFor!) as string[],
          },
    weeklySummary: rest.weeklySummary === 1,
    dailyDigest: rest.dailyDigest === 1,
    active: rest.active === 1,
  };
}

export function toRecipientRow({ rules, quietHours, ...rest }: Recipient): RecipientRow {
  return {
    ...rest,
    ruleCodes: rules.codes === null ? null : JSON.stringify(rules.codes),
    minimumSeverity: rules.minimumSeverity,
    quietFromMinute: quietHours?.fromMinute ?? null,
    quietToMinute: quietHours?.toMinute ?? null,
    quietBreakFor: quietHours === null ? null : JSON.stringify(quietHours.breakFor),
    weeklySummary: Number(rest.weeklySummary),
    dailyDigest: Number(rest.dailyDigest),
    active: Number(rest.active),
  };
}
