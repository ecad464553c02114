import { z } from 'zod';
import { severities } from '../../analysis/delivery-vocabulary.ts';
import { endReasons, watchRules } from '../../analysis/watch/watch-event.ts';
import { instant, placeId, sentInstant } from './values.ts';

export const noticeCode = z.enum(watchRules).meta({ description: 'what was watched for' });

export const notice = z
  .object({
    id: z.int(),
    code: noticeCode,
    placeId: placeId.nullable().meta({ description: 'null: the whole home, or a sensor' }),
    place: z.string().nullable().meta({ description: 'what that place is called; null without one' }),
    room: z.string().nullable().meta({ description: 'the room whose air it has; null without a place' }),
    sensorId: z.int().nullable(),
    detail: z.string().meta({ description: 'tells several things of one place or sensor apart; empty: none' }),
    severity: z.enum(severities),
    begunAt: instant,
    endedAt: instant.nullable().meta({ description: 'null: it goes on' }),
    endReason: z
      .enum(endReasons)
      .nullable()
      .meta({ description: 'over: it ended; no-data: how it went on is not known; rule-off: not watched any more' }),
    withdrawn: z.boolean().meta({ description: 'readings that came later show that it was not so' }),
    chance: z.number().min(0).max(1).nullable().meta({
      description: 'that it is so, given what the sensors may be off by; null: cannot be put in a number',
    }),
    data: z
      .record(z.string(), z.union([z.number(), z.string(), z.boolean(), z.null()]))
      .meta({ description: 'the figures behind it as it became known, the unit in each name' }),
    title: z.string().meta({ description: 'what and where, one line' }),
    what: z.string().meta({ description: 'what was found, with its figures' }),
    since: z.string(),
    howSure: z.string(),
    whatToDo: z.array(z.string()),
    cautions: z.array(z.object({ code: z.string(), message: z.string() })),
    acknowledgedAt: instant.nullable().meta({ description: 'someone has taken note: no reminders' }),
    snoozedUntil: instant.nullable().meta({ description: 'no reminders until then' }),
    told: z.int().meta({ description: 'recipients that word of it was sent to' }),
  })
  .meta({ id: 'Notice' });

export const notices = z
  .object({
    current: z.array(notice).meta({ description: 'what goes on, the gravest first' }),
    past: z.array(notice).meta({ description: 'what is over, the last first' }),
    watchedTo: instant.nullable().meta({ description: 'hours up to here have been looked at; null: none yet' }),
  })
  .meta({ id: 'Notices' });

export const noticesQuery = z.object({
  past: z.coerce.number().int().min(0).max(500).optional().meta({ description: 'how many that are over; 50' }),
});

export const snooze = z.strictObject({
  until: sentInstant.nullable().meta({ description: 'null: remind again' }),
});

export const watchRule = z
  .object({
    code: noticeCode,
    on: z.boolean(),
    settings: z.array(
      z.object({
        name: z.string(),
        value: z.number(),
        usual: z.number(),
        low: z.number(),
        high: z.number(),
        step: z.number(),
        unit: z.string(),
      }),
    ),
  })
  .meta({ id: 'WatchRule' });

export const watchRulesView = z.object({ rules: z.array(watchRule) }).meta({ id: 'WatchRules' });

export const watchRulesChange = z
  .partialRecord(noticeCode, z.record(z.string(), z.union([z.number(), z.boolean()])))
  .meta({ description: 'settings by rule: on, and numbers by their names; what is left out stays' });

export const watchPreview = z
  .object({
    from: instant,
    to: instant,
    rules: z.array(
      z.object({
        code: noticeCode,
        now: z.int().meta({ description: 'notices there would have been with the settings as they are' }),
        changed: z.int().meta({ description: 'with the settings sent' }),
      }),
    ),
    leftOut: z.array(noticeCode).meta({ description: 'rules that a preview does not count' }),
  })
  .meta({ id: 'WatchPreview', description: 'what the last winter would have given; nothing is kept' });

export type NoticeWire = z.infer<typeof notice>;
export type NoticesWire = z.infer<typeof notices>;
export type WatchRuleWire = z.infer<typeof watchRule>;
export type WatchRulesChange = z.infer<typeof watchRulesChange>;
export type WatchPreviewWire = z.infer<typeof watchPreview>;
