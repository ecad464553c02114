import { z } from 'zod';
import { healthCodes } from '../../analysis/health/finding.ts';
import { entryPhotos, photo } from './photos.ts';
import { instant, name, phaseKind, placeId, placeKind, quantity, sentInstant, slug } from './values.ts';

export const section = z
  .object({
    pitchDeg: z.number().min(5).max(85).meta({ description: 'slope of the roof from the horizontal, degrees' }),
    slopeLengthMm: z.number().min(200).max(10_000).meta({ description: 'sloping ceiling, along the slope, mm' }),
    roomHeightMm: z.number().min(1500).max(6000).meta({ description: 'floor to flat ceiling, mm' }),
    liningThicknessMm: z.number().min(0).max(400).meta({ description: 'lining, foam and board together, mm; 0: none' }),
    loftInsulationMm: z.number().min(0).max(1000).meta({ description: 'insulation on the flat ceiling, mm' }),
    eavesGapMm: z.number().min(0).max(500).meta({ description: 'air gap kept open at the eaves, mm' }),
  })
  .meta({ id: 'Section', description: 'simple dimensions from which the section is drawn' });

const zone = z.string().meta({ description: 'IANA time zone' });
export const newDwelling = z.object({ slug, name, zone, section });
export const dwelling = newDwelling
  .extend({
    isExample: z.boolean().meta({ description: 'of invented data, and can be removed' }),
    sectionConfirmed: z
      .boolean()
      .meta({ description: 'whether the section was kept, changed or as it was, since the dwelling was added' }),
  })
  .meta({ id: 'Dwelling' });
export const dwellingChange = z.strictObject({ name, zone: z.string(), section }).partial();

export const sectionPosition = z
  .object({
    along: z.number().min(0).max(1).meta({ description: 'from the ridge side to the eaves side' }),
    up: z.number().min(0).max(1).meta({ description: 'from the lowest to the highest; 0 on a surface' }),
  })
  .meta({ id: 'SectionPosition', description: 'where on the drawn section, as shares of the room for its kind' });
const position = sectionPosition.nullable().meta({ description: 'null: where places of its kind usually are' });

export const place = z
  .object({
    id: placeId,
    name,
    kind: placeKind,
    facesPlaceId: placeId.nullable().meta({ description: "the room air a surface faces; null: the dwelling's first" }),
    position,
  })
  .meta({ id: 'Place' });
export const newPlace = z.strictObject({
  name,
  kind: placeKind,
  facesPlaceId: placeId.nullable().default(null),
  position: position.default(null),
});
export const placeChange = z
  .strictObject({ name, kind: placeKind, facesPlaceId: placeId.nullable(), position })
  .partial();

export const phase = z
  .object({
    id: z.int(),
    kind: phaseKind,
    name,
    from: instant,
    to: instant.nullable().meta({ description: 'exclusive end; null: still running' }),
  })
  .meta({ id: 'Phase', description: 'a named span of the story' });
export const newPhase = z.strictObject({ kind: phaseKind, name, from: sentInstant, to: sentInstant.nullable() });
export const phaseChange = newPhase.partial();

export const diaryEntry = z
  .object({ id: z.int(), time: instant, kind: z.string(), text: z.string(), photos: z.array(photo) })
  .meta({ id: 'DiaryEntry' });
export const newDiaryEntry = z.strictObject({
  time: sentInstant,
  kind: z.string().trim().min(1).max(40),
  text: z.string().trim().min(1).max(4000),
  photos: entryPhotos.optional(),
});
export const diaryEntryChange = newDiaryEntry.partial();

export const sensorFinding = z
  .object({
    sensorId: z.int(),
    sensorName: z.string(),
    code: z.enum(healthCodes),
    severity: z.enum(['note', 'caution', 'warning']),
    message: z.string().meta({ description: 'what was seen, with its figures' }),
    data: z
      .record(z.string(), z.union([z.number(), z.string(), z.boolean(), z.null(), z.array(z.string())]))
      .meta({ description: 'the figures behind it, the unit in each name' }),
    from: instant,
    to: instant,
    whatToDo: z.string(),
    effect: z
      .discriminatedUnion('kind', [
        z.object({ kind: z.literal('shown') }),
        z.object({ kind: z.literal('not-counted') }),
        z.object({ kind: z.literal('wider'), quantity: z.enum(['temperature', 'humidity']), limit: z.number() }),
      ])
      .meta({
        description:
          'what it does to the numbers. shown: nothing; not-counted: these readings are left out of the hours, which lose coverage; wider: values may be off by up to limit more, and their interval says so',
      }),
  })
  .meta({ id: 'SensorFinding', description: "something that a sensor's readings say about the sensor" });

export const batteryState = z
  .object({
    volts: z.number(),
    cutOffVolts: z.number().meta({ description: 'taken for flat' }),
    daysLeft: z.object({ value: z.number(), low: z.number(), high: z.number().nullable() }).nullable().meta({
      description:
        'days until it is flat if it goes on falling as it does, with a 95 % interval; most fall faster at their end. null: no fall that can be told from chance',
    }),
  })
  .meta({ id: 'BatteryState' });

export const sensorHealth = z
  .object({
    state: z.enum(['heard', 'late', 'silent', 'never-heard']),
    words: z.string().meta({ description: 'the state as a sentence' }),
    findings: z.array(sensorFinding).meta({ description: 'of the last two weeks, the gravest first' }),
    battery: batteryState.nullable().meta({ description: 'null: reports no voltage' }),
  })
  .meta({ id: 'SensorHealth' });

export const sensorFindings = z
  .object({
    workedOutAt: instant,
    from: instant,
    to: instant,
    settings: z
      .record(z.string(), z.unknown())
      .meta({ description: 'where each rule begins to speak; times in ms, other units in the names' }),
    findings: z.array(sensorFinding),
  })
  .meta({ id: 'SensorFindings' });

export const sensor = z
  .object({
    id: z.int(),
    key: z.string().meta({ description: 'last part of its topic, or its import name' }),
    name,
    model: z.string().nullable(),
    placements: z.array(
      z
        .object({ placeId, placeName: name, from: instant, to: instant.nullable() })
        .meta({ description: 'oldest first' }),
    ),
    series: z.array(
      z.object({
        quantity,
        unit: z.string(),
        intervalSeconds: z.number().nullable().meta({ description: 'usual spacing of readings; null: not known yet' }),
        last: z
          .object({
            time: instant,
            value: z.number().meta({ description: 'corrected by the calibration in force' }),
            asSent: z.number().meta({ description: 'as the sensor sent it' }),
          })
          .nullable(),
        accuracy: z.object({
          plusMinus: z.number().nullable().meta({ description: 'half width of the 95 % interval; null: not known' }),
          source: z.string().meta({ description: 'e.g. calibrated 2025-10-02, side by side' }),
          calibrationId: z.int().nullable().meta({ description: 'the calibration in force; null: none' }),
        }),
      }),
    ),
    health: sensorHealth,
  })
  .meta({ id: 'Sensor' });
export const sensorChange = z.strictObject({ name, model: z.string().trim().max(60).nullable() }).partial();
export const newPlacement = z.strictObject({
  placeId: placeId.nullable().meta({ description: 'null takes the sensor away' }),
  from: sentInstant,
});

export type Section = z.infer<typeof section>;
export type Dwelling = z.infer<typeof dwelling>;
export type SectionPosition = z.infer<typeof sectionPosition>;
export type Place = z.infer<typeof place>;
export type Phase = z.infer<typeof phase>;
export type DiaryEntry = z.infer<typeof diaryEntry>;
export type Sensor = z.infer<typeof sensor>;
export type SensorFinding = z.infer<typeof sensorFinding>;
export type SensorHealth = z.infer<typeof sensorHealth>;
export type BatteryState = z.infer<typeof batteryState>;
