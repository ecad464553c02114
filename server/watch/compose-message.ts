import type { OutgoingEvent } from '../analysis/delivery-vocabulary.ts';
import { type NoticeNames, type NoticeText, noticeText } from '../analysis/watch/say-notice.ts';
import type { MessageBody, WatchNotice } from '../store/port.ts';
import { deNoticeBody } from '../words/de-notice-body.ts';
import { deliveryWords, messageLanguage } from '../words/delivery.ts';
import { numberIn, writeIn } from '../words/writing.ts';

export interface HomeNames extends NoticeNames {
  readonly dwelling: string;
}

/** A notice in the words of a language (BCP 47). English is what is told where there is no other. */
function noticeIn(language: string, notice: WatchNotice, names: HomeNames): NoticeText {
  const english = noticeText(notice, names);
  if (messageLanguage(language) === 'en') return english;
  const { rule, placeId, withdrawnAt } = notice;
  const facts = {
    ...notice,
    ...english,
    code: rule,
    place: placeId === null ? null : names.place(placeId),
    room: placeId === null ? null : names.roomOf(placeId),
    withdrawn: withdrawnAt !== null,
  };
  return { ...english, ...deNoticeBody(writeIn(deliveryWords(language).tag))(facts, names.zone) };
}

/** Word of a notice, as it goes out: what, where, how sure, since when, what to do. */
export function noticeMessage(
  event: 'begun' | 'reminder' | 'ended',
  notice: WatchNotice,
  names: HomeNames,
  language: string,
): MessageBody {
  const said = noticeIn(language, notice, names);
  const lead = deliveryWords(language).lead[notice.withdrawnAt === null ? event : 'withdrawn'];
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
  language: string,
): MessageBody {
  const { summary: words, tag } = deliveryWords(language);
  const real = notices.filter(({ withdrawnAt }) => withdrawnAt === null);
  const open = real.filter(({ endedAt }) => endedAt === null);
  const past = real.filter(({ endedAt, endKnownAt }) => endedAt !== null && endKnownAt! >= from && endKnownAt! < to);
  const lines = (list: readonly WatchNotice[]): string =>
    [
      ...list.slice(0, MOST_LISTED).map((notice) => {
        const { title, since } = noticeIn(language, notice, names);
        return `- ${title}. ${since}`;
      }),
      ...(list.length > MOST_LISTED ? [`- ${words.more(numberIn(tag, list.length - MOST_LISTED))}`] : []),
    ].join('\n');
  const parts = [
    open.length === 0 ? words.nothingOpen : `${words.goingOn}\n${lines(open)}`,
    past.length === 0 ? words.nothingPast : `${words.past}\n${lines(past)}`,
  ];
  const subject = open.length === 0 ? words.quiet : words.open(open.length);
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
