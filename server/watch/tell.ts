import { DateTime } from 'luxon';
import { severities } from '../analysis/delivery-vocabulary.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { type NoticeSettings, noticeSettings } from '../analysis/watch/settings.ts';
import type { OutgoingMessage, Recipient, Told, WatchNotice } from '../store/port.ts';
import { type HomeNames, noticeMessage, summaryMessage } from './compose-message.ts';
import { isQuiet } from './quiet-hours.ts';

export interface Telling {
  readonly dwellingId: number;
  readonly now: number;
  readonly recipients: readonly Recipient[];
  readonly names: HomeNames;
}

const isReached = ({ active, unsubscribedAt }: Recipient): boolean => active && unsubscribedAt === null;

const wants = ({ rules }: Recipient, { rule, severity }: WatchNotice): boolean =>
  (rules.codes === null || rules.codes.includes(rule)) &&
  severities.indexOf(severity) >= severities.indexOf(rules.minimumSeverity);

type Due = { readonly event: 'begun' | 'reminder' | 'ended'; readonly ordinal: number; readonly told: Told };

/**
 * The word that is due to one recipient about one notice, if any. Nothing is written ahead: what is over before quiet
 * hours end is never sent, and what is only found later is sent while it is news.
 */
export function wordDue(
  notice: WatchNotice,
  told: Told | undefined,
  now: number,
  settings: NoticeSettings = noticeSettings,
): Due | null {
  const { endedAt, endKnownAt, withdrawnAt, knownAt, acknowledgedAt, snoozedUntil } = notice;
  const over = endedAt !== null || withdrawnAt !== null;
  const held = acknowledgedAt !== null || (snoozedUntil !== null && now < snoozedUntil);
  if (told === undefined) {
    const fresh = now - knownAt <= settings.freshHours * HOUR_MS;
    if (over || held || !fresh) return null;
    return { event: 'begun', ordinal: 0, told: { begunAt: now, lastAt: now, reminders: 0, endedAt: null } };
  }
  if (over) {
    // a night that was warned of passes without further word
    if (told.endedAt !== null || (notice.rule === 'condensation-ahead' && withdrawnAt === null)) return null;
    if (now - (withdrawnAt ?? endKnownAt ?? now) > settings.endFreshHours * HOUR_MS) return null;
    return { event: 'ended', ordinal: 0, told: { ...told, endedAt: now } };
  }
  if (held || notice.rule === 'condensation-ahead') return null;
  const { reminderHours } = settings;
  const wait = reminderHours[Math.min(told.reminders, reminderHours.length - 1)]!;
  if (now - told.lastAt < wait * HOUR_MS) return null;
  const reminders = told.reminders + 1;
  return { event: 'reminder', ordinal: reminders, told: { ...told, lastAt: now, reminders } };
}

/** Messages that are due now, and the notices with what was told. Saying it twice at the same moment says it once. */
export function tellNotices(
  notices: readonly WatchNotice[],
  { dwellingId, now, recipients, names }: Telling,
): { readonly notices: WatchNotice[]; readonly messages: OutgoingMessage[] } {
  const messages: OutgoingMessage[] = [];
  const changed: WatchNotice[] = [];
  for (const notice of notices) {
    const told = { ...notice.told };
    for (const recipient of recipients) {
      if (!isReached(recipient) || !wants(recipient, notice)) continue;
      const due = wordDue(notice, told[recipient.id], now);
      if (due === null) continue;
      const { quietHours } = recipient;
      const breaks = due.event !== 'ended' && quietHours?.breakFor.includes(notice.rule) === true;
      if (quietHours !== null && !breaks && isQuiet(now, names.zone, quietHours)) continue;
      told[recipient.id] = due.told;
      messages.push({
        id: `notice-${notice.id}.${due.event}.${due.ordinal}.to-${recipient.id}`,
        dwellingId,
        recipientId: recipient.id,
        noticeId: notice.id,
        event: due.event,
        createdAt: now,
        notBefore: now,
        body: noticeMessage(due.event, notice, names, recipient.language),
      });
    }
    if (messages.at(-1)?.noticeId === notice.id) changed.push({ ...notice, told });
  }
  return { notices: changed, messages };
}

/** The last moment at which a weekly summary fell due, UTC milliseconds, and its local date. */
export function summaryDue(
  now: number,
  zone: string,
  settings: NoticeSettings = noticeSettings,
): { readonly at: number; readonly date: string } {
  const local = DateTime.fromMillis(now, { zone });
  const back = (local.weekday - settings.summaryWeekday + 7) % 7;
  const day = local.minus({ days: back }).startOf('day').set({ hour: settings.summaryHour });
  const due = day.toMillis() <= now ? day : day.minus({ days: 7 });
  return { at: due.toMillis(), date: due.toISODate()! };
}

/** Weekly summaries that are due now, and for whom of which date. */
export function tellSummaries(
  notices: readonly WatchNotice[],
  summaries: Readonly<Record<string, string>>,
  { dwellingId, now, recipients, names }: Telling,
): { readonly summaries: Record<string, string>; readonly messages: OutgoingMessage[] } {
  const { at, date } = summaryDue(now, names.zone);
  const next = { ...summaries };
  const messages: OutgoingMessage[] = [];
  for (const recipient of recipients) {
    if (!isReached(recipient) || !recipient.weeklySummary || (next[recipient.id] ?? '') >= date) continue;
    if (now - at > noticeSettings.summaryLateHours * HOUR_MS) continue;
    if (recipient.quietHours !== null && isQuiet(now, names.zone, recipient.quietHours)) continue;
    next[recipient.id] = date;
    const from = DateTime.fromMillis(at, { zone: names.zone }).minus({ days: 7 }).toMillis();
    messages.push({
      id: `summary-${date}.to-${recipient.id}`,
      dwellingId,
      recipientId: recipient.id,
      noticeId: null,
      event: 'weekly-summary',
      createdAt: now,
      notBefore: now,
      body: summaryMessage(notices, from, at, names, recipient.language),
    });
  }
  return { summaries: next, messages };
}
