import { DateTime } from 'luxon';
import { describe, expect, it } from 'vitest';
import type { Recipient, WatchNotice } from '../../server/store/port.ts';
import type { HomeNames } from '../../server/watch/compose-message.ts';
import { isQuiet } from '../../server/watch/quiet-hours.ts';
import { anyone } from '../../server/watch/replay.ts';
import { speak, withChanges, workAhead } from '../../server/watch/step.ts';
import { summaryDue } from '../../server/watch/tell.ts';

const HOUR = 3_600_000;
const ZONE = 'Europe/London';
const at = (text: string, zone = ZONE): number => DateTime.fromISO(text, { zone }).toMillis();

const names: HomeNames = { dwelling: 'Mill Cottage', zone: ZONE, place: () => 'Slope', roomOf: () => 'Bedroom' };

const someone = (change: Partial<Recipient> = {}): Recipient => ({
  ...anyone(1),
  id: 3,
  weeklySummary: false,
  ...change,
});
const quiet = { fromMinute: 22 * 60, toMinute: 7 * 60, breakFor: [] };

const noticeOf = (knownAt: number, change: Partial<WatchNotice> = {}): WatchNotice => ({
  id: 7,
  dwellingId: 1,
  rule: 'condensing-now',
  placeId: 2,
  sensorId: null,
  detail: '',
  severity: 'warning',
  begunAt: knownAt - 2 * HOUR,
  knownAt,
  endedAt: null,
  endKnownAt: null,
  endReason: null,
  chance: 0.97,
  data: {
    hours: 2,
    marginK: -0.4,
    marginPlusMinusK: 0.5,
    surfaceC: 9.8,
    dewPointC: 10.2,
    roomC: 18,
    roomHumidityPct: 61,
  },
  recordedAt: knownAt,
  withdrawnAt: null,
  told: {},
  acknowledgedAt: null,
  snoozedUntil: null,
  ...change,
});

/** What is said to recipients while a notice changes with time; the clock is asked every quarter of an hour. */
function sayings(
  recipient: Recipient,
  from: number,
  to: number,
  noticeAt: (now: number) => Partial<WatchNotice>,
  knownAt = from,
): string[] {
  let told: WatchNotice['told'] = {};
  const said: string[] = [];
  for (let now = from; now <= to; now += HOUR / 4) {
    const notice = { ...noticeOf(knownAt), ...noticeAt(now), told };
    const spoken = speak([notice], {}, { dwellingId: 1, now, recipients: [recipient], names });
    told = withChanges([notice], spoken.notices)[0]!.told;
    for (const { event, createdAt } of spoken.messages) {
      said.push(`${event} ${DateTime.fromMillis(createdAt, { zone: ZONE }).toFormat('LL-dd HH:mm')}`);
    }
  }
  return said;
}

const END = { endReason: 'over' as const };

describe('word of a notice', () => {
  it('says what, where, how sure, since when and what to do, with the cautions', () => {
    const now = at('2026-01-14T23:00');
    const { messages } = speak([noticeOf(now)], {}, { dwellingId: 1, now, recipients: [someone()], names });
    const [{ body, id, noticeId }] = messages as [(typeof messages)[0]];
    expect(id).toBe('notice-7.begun.0.to-3');
    expect(noticeId).toBe(7);
    expect(body.subject).toBe('Mill Cottage: Slope: moisture is settling');
    expect(body.text).toContain('9.8 °C');
    expect(body.text).toContain('-0.4 ± 0.5 K');
    expect(body.text).toContain('Since Wed 14 Jan 2026, 21:00.');
    expect(body.text).toContain('Almost certain');
    expect(body.text).toContain('Wipe Slope dry');
    expect(body.text).toContain('protect lungs, skin and eyes');
    expect(body.data).toMatchObject({ event: 'begun', notice: { code: 'condensing-now', placeId: 2 } });
  });

  it('is said once, with reminders at growing intervals while it goes on, and at its end', () => {
    const end = at('2026-02-20T10:00');
    const said = sayings(someone(), at('2026-01-14T12:00'), at('2026-02-22T00:00'), (now) =>
      now >= end ? { endedAt: end, endKnownAt: end, ...END } : {},
    );
    expect(said).toEqual([
      'begun 01-14 12:00',
      'reminder 01-15 12:00',
      'reminder 01-18 12:00',
      'reminder 01-25 12:00',
      'reminder 02-08 12:00',
      'ended 02-20 10:00',
    ]);
  });

  it('waits for quiet hours to end, and is never sent when the event is over by then', () => {
    const from = at('2026-01-14T23:30');
    expect(sayings(someone({ quietHours: quiet }), from, at('2026-01-15T12:00'), () => ({}))).toEqual([
      'begun 01-15 07:00',
    ]);
    const end = at('2026-01-15T06:00');
    const over = (now: number) => (now >= end ? { endedAt: end, endKnownAt: end, ...END } : {});
    expect(sayings(someone({ quietHours: quiet }), from, at('2026-01-15T12:00'), over)).toEqual([]);
  });

  it('breaks quiet hours where the person said so, for that code alone', () => {
    const from = at('2026-01-14T23:30');
    const night = { ...quiet, breakFor: ['condensing-now'] };
    expect(sayings(someone({ quietHours: night }), from, from, () => ({}))).toEqual(['begun 01-14 23:30']);
    expect(sayings(someone({ quietHours: night }), from, from, () => ({ rule: 'surface-damp' }))).toEqual([]);
  });

  it('stops once someone took note, rests while it is snoozed, and goes on after', () => {
    const from = at('2026-01-14T12:00');
    const to = at('2026-01-20T00:00');
    const noted = (now: number) => (now >= from + 2 * HOUR ? { acknowledgedAt: from + 2 * HOUR } : {});
    expect(sayings(someone(), from, to, noted)).toEqual(['begun 01-14 12:00']);
    const until = at('2026-01-17T08:00');
    expect(sayings(someone(), from, to, () => ({ snoozedUntil: until }))).toEqual([]);
    const later = (now: number) => (now >= from + HOUR ? { snoozedUntil: until } : {});
    expect(sayings(someone(), from, to, later)).toEqual(['begun 01-14 12:00', 'reminder 01-17 08:00']);
  });

  it('is not sent for what is only found out days later, or is over already', () => {
    const now = at('2026-01-14T12:00');
    expect(sayings(someone(), now, now, () => ({}), now - 47 * HOUR)).toEqual(['begun 01-14 12:00']);
    expect(sayings(someone(), now, now, () => ({}), now - 49 * HOUR)).toEqual([]);
    expect(sayings(someone(), now, now, () => ({ endedAt: now - HOUR, endKnownAt: now, ...END }))).toEqual([]);
  });

  it('goes to those who want that code and that severity, and to nobody who is off or unsubscribed', () => {
    const now = at('2026-01-14T12:00');
    const said = (change: Partial<Recipient>) => sayings(someone(change), now, now, () => ({}));
    expect(said({ rules: { codes: ['timber-wet'], minimumSeverity: 'note' } })).toEqual([]);
    expect(said({ rules: { codes: ['condensing-now'], minimumSeverity: 'warning' } })).toEqual(['begun 01-14 12:00']);
    expect(said({ active: false })).toEqual([]);
    expect(said({ unsubscribedAt: now })).toEqual([]);
    expect(
      sayings(someone({ rules: { codes: null, minimumSeverity: 'warning' } }), now, now, () => ({ severity: 'note' })),
    ).toEqual([]);
  });

  it('takes back what later readings undid', () => {
    const from = at('2026-01-14T12:00');
    const gone = from + 3 * HOUR;
    let told: WatchNotice['told'] = {};
    const first = speak([noticeOf(from)], {}, { dwellingId: 1, now: from, recipients: [someone()], names });
    told = first.notices[0]!.told;
    const withdrawn = noticeOf(from, { told, endedAt: gone, endKnownAt: gone, ...END, withdrawnAt: gone });
    const second = speak([withdrawn], {}, { dwellingId: 1, now: gone, recipients: [someone()], names });
    expect(second.messages.map(({ event, body }) => [event, body.subject])).toEqual([
      ['ended', 'Mill Cottage: Taken back: Slope: moisture is settling'],
    ]);
  });

  it('is not said again when the clock is put back', () => {
    const from = at('2026-01-14T12:00');
    const told = { 3: { begunAt: from, lastAt: from, reminders: 0, endedAt: null } };
    for (const now of [from - 30 * 24 * HOUR, from - HOUR, from]) {
      const notice = noticeOf(from, { told });
      expect(speak([notice], {}, { dwellingId: 1, now, recipients: [someone()], names }).messages).toEqual([]);
    }
  });
});

describe('quiet hours by the clock on the wall', () => {
  const hours = (from: number, to: number) => ({ fromMinute: from * 60, toMinute: to * 60, breakFor: [] });
  const quietSpan = (zone: string, day: string, span: ReturnType<typeof hours>): number => {
    let count = 0;
    const noon = at(`${day}T12:00`, zone);
    const next = DateTime.fromMillis(noon, { zone }).plus({ days: 1 }).toMillis();
    for (let time = noon; time < next; time += HOUR / 4) if (isQuiet(time, zone, span)) count += 1;
    return count / 4;
  };

  it('go over midnight, and are an hour shorter or longer in nights in which clocks change', () => {
    // European Union summer time begins on the last Sunday of March and ends on that of October (Directive 2000/84/EC)
    expect(quietSpan(ZONE, '2026-01-14', hours(22, 7))).toBe(9);
    expect(quietSpan(ZONE, '2026-03-28', hours(22, 7))).toBe(8);
    expect(quietSpan(ZONE, '2026-10-24', hours(22, 7))).toBe(10);
    expect(isQuiet(at('2026-03-29T06:59'), ZONE, hours(22, 7))).toBe(true);
    expect(isQuiet(at('2026-03-29T07:00'), ZONE, hours(22, 7))).toBe(false);
  });

  it('may lie within a day, and be none', () => {
    expect(isQuiet(at('2026-01-14T13:00'), ZONE, hours(12, 15))).toBe(true);
    expect(isQuiet(at('2026-01-14T23:00'), ZONE, hours(12, 15))).toBe(false);
    expect(isQuiet(at('2026-01-14T23:00'), ZONE, hours(7, 7))).toBe(false);
  });

  it('are right in zones with other offsets', () => {
    expect(isQuiet(Date.parse('2026-01-14T01:29:00Z'), 'Asia/Kolkata', hours(22, 7))).toBe(true);
    expect(isQuiet(Date.parse('2026-01-14T01:30:00Z'), 'Asia/Kolkata', hours(22, 7))).toBe(false);
  });
});

describe('the weekly summary', () => {
  it('falls due on Monday at eight by the wall, also when clocks changed the day before', () => {
    expect(summaryDue(at('2026-03-30T08:00'), ZONE)).toEqual({
      at: Date.parse('2026-03-30T07:00:00Z'),
      date: '2026-03-30',
    });
    expect(summaryDue(at('2026-03-30T07:59'), ZONE).date).toBe('2026-03-23');
    expect(summaryDue(at('2026-10-26T08:00'), ZONE).at).toBe(Date.parse('2026-10-26T08:00:00Z'));
  });

  it('is sent once, after quiet hours, and left out when the program was off for days', () => {
    const person = someone({ weeklySummary: true, quietHours: hoursUntilNine });
    const run = (from: string, to: string): string[] => {
      let summaries: Readonly<Record<string, string>> = {};
      const said: string[] = [];
      for (let now = at(from); now <= at(to); now += HOUR / 4) {
        const spoken = speak([], summaries, { dwellingId: 1, now, recipients: [person], names });
        summaries = spoken.summaries;
        said.push(...spoken.messages.map(({ id, createdAt }) => `${id} ${new Date(createdAt).toISOString()}`));
      }
      return said;
    };
    expect(run('2026-01-11T00:00', '2026-01-20T00:00')).toEqual([
      'summary-2026-01-12.to-3 2026-01-12T09:00:00.000Z',
      'summary-2026-01-19.to-3 2026-01-19T09:00:00.000Z',
    ]);
    expect(run('2026-01-14T00:00', '2026-01-16T00:00')).toEqual([]);
  });

  it('tells what goes on and what came and went, and that all is quiet where it is', () => {
    const now = at('2026-01-19T08:00');
    const end = at('2026-01-16T09:00');
    const telling = { dwellingId: 1, now, recipients: [someone({ weeklySummary: true })], names };
    const past = noticeOf(end - 5 * HOUR, { endedAt: end, endKnownAt: end, ...END });
    const old = noticeOf(at('2026-01-05T09:00'), {
      id: 2,
      endedAt: at('2026-01-06T09:00'),
      endKnownAt: at('2026-01-06T09:00'),
      ...END,
    });
    const open = noticeOf(at('2026-01-17T09:00'), {
      id: 9,
      rule: 'timber-wet',
      data: { moisturePct: 21, limitPct: 20, hours: 24 },
    });
    const textOf = (notices: WatchNotice[]) =>
      speak(notices, {}, telling).messages.find(({ event }) => event === 'weekly-summary')!.body;
    expect(textOf([past, old, open]).text).toMatch(
      /^Going on now:\n- Slope: timber over 20 % moisture\. Since Sat 17 Jan 2026, 07:00\.\n\nCame and went this week:\n- Slope: moisture is settling\. From Fri 16 Jan 2026, 02:00 to Fri 16 Jan 2026, 09:00, 7 hours\.$/,
    );
    expect(textOf([]).subject).toBe('Mill Cottage: the week in short: all quiet');
  });
});

const hoursUntilNine = { fromMinute: 22 * 60, toMinute: 9 * 60, breakFor: [] };

describe('which hours are judged', () => {
  const hour = (n: number): number => at('2026-01-14T00:00') + n * HOUR;

  it('are whole ones, ten minutes after their end', () => {
    const work = (now: number) => workAhead({ evaluatedTo: hour(5), changedFrom: null }, hour(0), now);
    expect(work(hour(6) + 9 * 60_000)).toBeNull();
    expect(work(hour(6) + 10 * 60_000)).toMatchObject({ scan: { from: hour(5) }, to: hour(6) });
  });

  it('begin again where hours were rebuilt, and not for the hour that runs', () => {
    const now = hour(10) + 30 * 60_000;
    expect(workAhead({ evaluatedTo: hour(10), changedFrom: hour(10) }, hour(0), now)).toBeNull();
    expect(workAhead({ evaluatedTo: hour(10), changedFrom: hour(4) }, hour(0), now)).toMatchObject({
      scan: { from: hour(4), onceFrom: hour(10) },
      to: hour(10),
    });
  });

  it('wait when the clock was put back an hour, and are judged anew when it had run days ahead', () => {
    expect(workAhead({ evaluatedTo: hour(10), changedFrom: null }, hour(0), hour(9))).toBeNull();
    expect(workAhead({ evaluatedTo: hour(400), changedFrom: null }, hour(0), hour(10) + HOUR / 2)).toMatchObject({
      scan: { from: hour(10), onceFrom: hour(10) },
      to: hour(10),
    });
  });
});
