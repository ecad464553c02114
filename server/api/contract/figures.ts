import { z } from 'zod';
import { adviceCodes } from '../../analysis/advice.ts';
import { headlineCodes } from '../../analysis/now.ts';
import { hourColumnNames } from '../../analysis/place-hours.ts';
import { trendQuantities } from '../../analysis/trend.ts';
import { storingFaults } from '../../analysis/watch/not-stored.ts';
import { sectionPosition, sensorFinding } from './dwelling.ts';
import { instant, measured, placeId, placeKind } from './values.ts';

/** How a place is doing. `tone` says how loud to say it; the words carry the meaning. */
export const placeState = z
  .object({
    code: z.enum([
      'clear',
      'close',
      'risk',
      'condensing',
      'dry',
      'damp',
      'wet',
      'as-measured',
      'stale',
      'no-reading',
      'gap',
    ]),
    tone: z.enum(['quiet', 'watch', 'act', 'unknown']),
    words: z.string(),
  })
  .meta({ id: 'PlaceState' });

export const trend = z
  .object({
    quantity: z.enum(trendQuantities),
    kind: z.enum(['rising', 'falling', 'steady']).meta({ description: 'steady: the doubt covers the change' }),
    change: z.number().meta({ description: 'over these hours, in °C or K, Pa or %' }),
    plusMinus: z.number().meta({ description: 'half width of its 95 % interval' }),
    hours: z.int(),
  })
  .meta({ id: 'Trend', description: 'how a quantity went over the last hours' });

export const placeNow = z
  .object({
    placeId,
    name: z.string(),
    kind: placeKind,
    airPlaceId: placeId
      .nullable()
      .meta({ description: 'whose air judges it: the room a surface faces, else its own; null: no room is known' }),
    at: instant.nullable().meta({ description: 'time of the latest temperature; null: none yet' }),
    state: placeState,
    temperature: measured.nullable().meta({ description: '°C' }),
    humidity: measured.nullable().meta({ description: 'relative humidity over liquid water, %' }),
    vapourPressure: measured
      .nullable()
      .meta({ description: "Pa; of the place's own air, or of the room air a surface faces" }),
    dewPoint: measured
      .nullable()
      .meta({ description: "°C; of the place's own air, or of the room air a surface faces" }),
    margin: measured.nullable().meta({ description: 'dew-point margin, K' }),
    surfaceHumidity: measured.nullable().meta({ description: 'relative humidity at the surface, %' }),
    vapourExcess: measured.nullable().meta({ description: 'vapour pressure over outdoors, Pa; rooms and lofts' }),
    timberMoisture: measured.nullable().meta({ description: '% of dry mass' }),
    trends: z.array(trend).meta({ description: 'of what its state rests on; none where too few hours are known' }),
    position: sectionPosition
      .nullable()
      .meta({ description: 'where on the drawn section; null: where its kind usually is' }),
    findings: z
      .array(sensorFinding)
      .meta({ description: "about the sensors these figures rest on: the place's own, and its room's at a surface" }),
  })
  .meta({ id: 'PlaceNow' });

export const caution = z
  .object({ code: z.string(), message: z.string() })
  .meta({ id: 'Caution', description: 'what anyone who does this must hear' });

export const advice = z
  .object({
    code: z.enum(adviceCodes),
    tone: z.enum(['act', 'watch']).meta({ description: 'act: now; watch: it can wait' }),
    placeId: placeId.nullable().meta({ description: 'the place it is about; null: several' }),
    data: z
      .record(z.string(), z.union([z.number(), z.string(), z.null()]))
      .meta({ description: 'the figures behind it, the unit in each name' }),
    message: z.string(),
    cautions: z.array(caution),
  })
  .meta({ id: 'Advice', description: 'something to do about the state of the home' });

export const advices = z
  .object({
    time: instant,
    advice: z.array(advice).meta({ description: 'the most pressing first; none: nothing is to be done' }),
  })
  .meta({ id: 'Advices' });

export const headlineAbout = z
  .object({ code: z.enum(headlineCodes), place: z.string().nullable() })
  .meta({ id: 'HeadlineAbout', description: 'what the headline says, and the name of the place in it' });

export const now = z
  .object({
    time: instant,
    headline: z.string().meta({ description: 'one plain sentence' }),
    headlineAbout,
    detail: z.string().meta({ description: 'what it rests on' }),
    places: z.array(placeNow),
    heard: z.object({ sensors: z.int(), heard: z.int(), lastReading: instant.nullable() }),
  })
  .meta({ id: 'Now' });

export const hourColumnName = z.enum(hourColumnNames);

const column = z.array(z.number().nullable());

export const hourColumns = z
  .object({
    placeId,
    start: instant,
    hours: z.int(),
    columns: z.partialRecord(hourColumnName, column).meta({
      description:
        'one entry per UTC hour from start; null: not known or too little coverage. temperature, dewPoint °C; humidity, surfaceHumidity, timberMoisture %, and the lowest (Min) and highest (Max) of their readings where kept; vapourPressure Pa; margin K; co2 ppm; battery V; riskHour, condensationHour 1 or 0; coverage 0 to 1',
    }),
  })
  .meta({ id: 'HourColumns' });

export const winter = z
  .object({
    name: z.string().meta({ description: 'e.g. 2025/26: 1 October to 30 September, local time' }),
    start: instant,
    cumulativeRiskHours: column.meta({
      description:
        'risk hours so far at the end of each local day since 1 October; null on days without a valid hour after the last one',
    }),
    validHours: z.int(),
    riskHours: z.int(),
    condensationHours: z.int(),
    condensationNights: z.int(),
  })
  .meta({ id: 'Winter' });

export const winters = z
  .object({
    placeId,
    criterion: z.string().meta({ description: 'what makes a risk hour, in words' }),
    winters: z.array(winter),
  })
  .meta({ id: 'Winters' });

export const mould = z
  .object({
    placeId,
    start: instant,
    hours: z.int(),
    index: column.meta({ description: 'mould index 0 to 6 at the end of each hour; held through hours not known' }),
    highest: z.number(),
    stage: z
      .object({ stage: z.int(), words: z.string(), visible: z.boolean() })
      .meta({ description: 'of the highest' }),
    growthHours: z.int(),
    unknownHours: z.int(),
    options: z
      .record(z.string(), z.union([z.string(), z.number()]))
      .meta({ description: 'every option of the model used' }),
    source: z.string(),
  })
  .meta({ id: 'Mould', description: 'VTT mould index from a clean surface at the start' });

export const timber = z
  .object({
    placeId,
    start: instant,
    hours: z.int(),
    moisture: column.meta({
      description:
        'moisture content of timber that lags the air of the place, % of dry mass; null before the first known hour',
    }),
    hoursOver: z.int(),
    limit: z.number().meta({ description: '% of dry mass' }),
    timeConstantHours: z.number(),
    unknownHours: z.int(),
    source: z.string(),
  })
  .meta({ id: 'Timber', description: 'an estimate from the air alone; a measured moisture series is better' });

export const quarantineGroup = z
  .object({
    topic: z.string(),
    code: z.string(),
    message: z.string().meta({ description: 'why, and what to do' }),
    count: z.int(),
    firstAt: instant,
    lastAt: instant,
    lastPayload: z.string().meta({ description: 'the last message as text, at most 4,096 characters of it' }),
  })
  .meta({ id: 'QuarantineGroup' });

export const quarantine = z
  .object({
    total: z.int(),
    groups: z.array(quarantineGroup),
    notKept: z
      .array(
        z.object({
          sender: z.string().meta({ description: 'dwelling or first level of the topic; empty: all others together' }),
          messages: z.int(),
          firstAt: instant,
          lastAt: instant,
        }),
      )
      .meta({ description: 'what was not kept because quarantine held as much as it may, since it was last emptied' }),
  })
  .meta({ id: 'Quarantine', description: 'messages that were not understood, kept as they came' });

const clockDoubtKey = {
  from: instant.meta({ description: 'when the first came, by the clock of this computer' }),
  to: instant.meta({ description: 'when the last came, by the clock of this computer' }),
  behindMs: z.int().meta({ description: 'how far the clock of this computer must have stood back if they are right' }),
};

export const clockDoubtSettled = z
  .strictObject(clockDoubtKey)
  .meta({ id: 'ClockDoubtSettled', description: 'says that it was the clock of this computer that was wrong' });

export const clockDoubt = z
  .object({
    ...clockDoubtKey,
    topics: z.array(z.string()),
    messages: z.int(),
  })
  .meta({
    id: 'ClockDoubt',
    description: 'messages that were all ahead of the clock of this computer by the same: it was wrong, or they were',
  });

export const quarantineEmptied = z.object({ removed: z.int().meta({ description: 'messages' }) });

export const conflict = z
  .object({
    sensorKey: z.string(),
    quantity: z.string(),
    time: instant,
    keptValue: z.number(),
    otherValue: z.number(),
    receivedAt: instant,
  })
  .meta({ id: 'Conflict', description: 'two values for one instant: the first is in use, the other is kept here' });

export const receipt = z
  .object({
    readings: z.int().meta({ description: 'readings now on disk' }),
    fault: z
      .object({ code: z.string(), message: z.string() })
      .nullable()
      .meta({ description: 'what in the message could not be used; the whole message is kept in quarantine' }),
  })
  .meta({ id: 'Receipt', description: 'what became of what was sent; written to disk before this was answered' });

export const health = z
  .object({
    status: z.enum(['ok', 'degraded']),
    version: z.string(),
    reasons: z.array(z.string()),
    trouble: z
      .object({ code: z.enum(storingFaults), since: instant })
      .nullable()
      .meta({ description: 'why readings are not being stored; null: they are' }),
    broker: z.object({
      kind: z
        .enum(['embedded', 'external', 'elsewhere'])
        .meta({ description: 'elsewhere: other processes take the readings from the broker' }),
      address: z.string(),
      connected: z.boolean(),
    }),
  })
  .meta({ id: 'Health' });

export const problem = z
  .object({
    type: z.string(),
    title: z.string(),
    status: z.int(),
    detail: z.string().optional(),
    code: z.string(),
    errors: z.array(z.object({ pointer: z.string(), detail: z.string() })).optional(),
  })
  .meta({ id: 'Problem', description: 'Problem Details, RFC 9457' });

export type PlaceState = z.infer<typeof placeState>;
export type PlaceNow = z.infer<typeof placeNow>;
export type AdviceWire = z.infer<typeof advice>;
export type TrendWire = z.infer<typeof trend>;
export type Advices = z.infer<typeof advices>;
export type Now = z.infer<typeof now>;
export type HourColumns = z.infer<typeof hourColumns>;
export type Winters = z.infer<typeof winters>;
export type Health = z.infer<typeof health>;
export type Problem = z.infer<typeof problem>;
