import type { OutgoingEvent } from '../analysis/delivery-vocabulary.ts';
import { type NoticeNames, noticeText } from '../analysis/watch/say-notice.ts';
import type { MessageBody, WatchNotice } from '../store/port.ts';

export interface HomeNames extends NoticeNames {
  readonly dwelling: string;
}

const opening: Readonly<Record<'begun' | 'reminder' | 'ended', string>> = {
  begun: '',
  reminder: 'Still so: ',
  ended: 'Over: ',
};

/** Word of a notice, as it goes out: what, where, how sure, since when, what to do. */
export function noticeMessage(
  event: 'begun' | 'reminder' | 'ended',
  notice: WatchNotice,
  names: HomeNames,
): MessageBody {
  const said = noticeText(notice, names);
  const lead = notice.withdrawnAt === null ? opening[event] : 'Taken back: ';
  const doing =
    event === 'ended' ? [] : [said.howSure, said.whatToDo.join('\n'), ...said.cautions.map((one) => one.message)];
  return {
    subject: `${names.dwelling}: ${lead}${said.title}`,
    text: [said.what, said.since, ...doing].filter((paragraph) => paragraph !== '').join('\n\n'),
    data: dataOf(event, notice),
  };
}

/** The same for a program; instants as ISO 8601 in UTC. */
function dataOf(event: OutgoingEvent, notice: WatchNotice): MessageBody['data'] {
  const instant = (time: number | null): string | null => (time === null ? null : new Date(time).toISOString());
  const { id, rule, placeId, sensorId, detail, severity, chance, data, endReason } = notice;
  return {
    event,
    notice: {
      id,
      code: rule,
      placeId,
      sensorId,
      detail,
      severity,
      begunAt: instant(notice.begunAt),
      endedAt: instant(notice.endedAt),
      endReason,
      withdrawn: notice.withdrawnAt !== null,
      chance,
      data,
    },
  };
}

const MOST_LISTED = 12;

/** The week in words: what goes on, what came and went, and that all was quiet where it was. */
export function summaryMessage(
  notices: readonly WatchNotice[],
  from: number,
  to: number,
  names: HomeNames,
): MessageBody {
  const real = notices.filter(({ withdrawnAt }) => withdrawnAt === null);
  const open = real.filter(({ endedAt }) => endedAt === null);
  const past = real.filter(({ endedAt, endKnownAt }) => endedAt !== null && endKnownAt! >= from && endKnownAt! < to);
  const lines = (list: readonly WatchNotice[]): string =>
    [
      ...list.slice(0, MOST_LISTED).map((notice) => {
        const { title, since } = noticeText(notice, names);
        return `- ${title}. ${since}`;
      }),
      ...(list.length > MOST_LISTED ? [`- and ${list.length - MOST_LISTED} more`] : []),
    ].join('\n');
  const parts = [
    open.length === 0 ? 'Nothing needs you at the moment.' : `Going on now:\n${lines(open)}`,
    past.length === 0 ? 'Nothing else came up this week.' : `Came and went this week:\n${lines(past)}`,
  ];
  const subject = open.length === 0 ? 'the week in short: all quiet' : `the week in short: ${open.length} going on`;
  return {
    subject: `${names.dwelling}: ${subject}`,
    text: parts.join('\n\n'),
    data: {
      event: 'weekly-summary',
      from: new Date(from).toISOString(),
      to: new Date(to).toISOString(),
      open: open.map((notice) => dataOf('weekly-summary', notice).notice),
      past: past.map((notice) => dataOf('weekly-summary', notice).notice),
    },
  };
}
