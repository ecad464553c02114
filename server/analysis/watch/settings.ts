import { RISK_HUMIDITY } from '../../physics/hours-over.ts';
import { TIMBER_MOISTURE_LIMIT } from '../../physics/timber.ts';
import { type WatchRule, watchRules } from './watch-event.ts';

/** A number that decides when a rule speaks: what it is by default, and between what it may be set. */
export interface WatchField {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  readonly step: number;
  readonly unit: 'h' | 'd' | 'K' | '°C' | '%' | 'Pa' | '';
}

const field = (value: number, low: number, high: number, step: number, unit: WatchField['unit']): WatchField =>
  Object.freeze({ value, low, high, step, unit });

/**
 * Every setting of every rule. Unless a line names a source it is common practice, no source: chosen so that measured
 * winters of two sound houses give few notices and a planted event is found.
 */
export const watchFields = Object.freeze({
  'condensation-ahead': {
    /** chance of condensation in the coming night from which it is told, % */
    chancePct: field(40, 5, 95, 5, '%'),
    /** local hour from which on the coming night is judged */
    fromHour: field(16, 12, 22, 1, ''),
    /** and no water settled on that surface for so long: under a bad ceiling most nights of a winter are likely to be wet,
     * and a warning every evening would soon be read by nobody. The same span as that which ends `condensing-now`, so that
     * a row of wet nights is warned of once. 0: told every such evening */
    afterDryHours: field(48, 0, 168, 1, 'h'),
  },
  'condensing-now': {
    /** hours at or under the dew point before it is told */
    hours: field(2, 1, 12, 1, 'h'),
    /** but at once where it is under the dew point by so much */
    clearK: field(1, 0, 5, 0.1, 'K'),
    /** over when the surface was so far above the dew point for so many hours: two nights without, and the day between
     * them, so that a row of wet nights is one event and not a notice every night */
    dryK: field(0.5, 0, 5, 0.1, 'K'),
    dryHours: field(48, 2, 168, 1, 'h'),
  },
  'surface-damp': {
    /** surface humidity that counts as damp. Source of the usual limit: ISO 13788:2012, 5, there of a monthly mean */
    limitPct: field(RISK_HUMIDITY, 60, 100, 1, '%'),
    /** damp hours among the last `ofHours` */
    hours: field(36, 2, 300, 1, 'h'),
    ofHours: field(72, 6, 336, 1, 'h'),
    /** over when no more of the last `ofHours` are damp */
    endHours: field(8, 0, 300, 1, 'h'),
  },
  'mould-stage': {
    /** first stage of the mould index that is told */
    stage: field(1, 1, 6, 1, ''),
    /** over when the index has fallen so far under the stage */
    fallBy: field(0.5, 0.1, 2, 0.1, ''),
  },
  'hidden-layer-damp': {
    limitPct: field(RISK_HUMIDITY, 60, 100, 1, '%'),
    /** share of the last `days` that is damp, and at which it is over */
    days: field(7, 1, 30, 1, 'd'),
    sharePct: field(80, 10, 100, 5, '%'),
    endSharePct: field(30, 0, 90, 5, '%'),
  },
  'loft-wetter': {
    /** days over which the loft's vapour excess over outdoors is averaged */
    days: field(14, 3, 60, 1, 'd'),
    /** rise of that mean over the mean of the before phase */
    riseOverBeforePa: field(60, 10, 1000, 10, 'Pa'),
    /** without a before phase: over outdoors */
    overOutdoorsPa: field(150, 10, 1000, 10, 'Pa'),
    /** share of the limit at which it is over */
    endSharePct: field(60, 0, 100, 5, '%'),
  },
  'timber-wet': {
    limitPct: field(TIMBER_MOISTURE_LIMIT, 12, 40, 0.5, '%'),
    /** mean of so many hours */
    hours: field(24, 1, 336, 1, 'h'),
    /** over when the mean is at or under this */
    endPct: field(18.5, 10, 40, 0.5, '%'),
  },
  'room-too-cold': {
    /** mean of `days` under this, in weather colder than `outdoorsC` */
    belowC: field(15, 5, 22, 0.5, '°C'),
    endC: field(16, 5, 24, 0.5, '°C'),
    outdoorsC: field(12, 0, 20, 0.5, '°C'),
    days: field(3, 1, 30, 1, 'd'),
  },
  'room-too-moist': {
    /** humidity that the room's mean state brings to its coldest surface, mean of `days` */
    limitPct: field(RISK_HUMIDITY, 60, 100, 1, '%'),
    endPct: field(75, 50, 100, 1, '%'),
    days: field(7, 1, 30, 1, 'd'),
  },
  'sensor-trouble': {
    /** the readings are looked through so often */
    everyHours: field(6, 1, 24, 1, 'h'),
  },
  'readings-stopped': {
    /** hours without a reading of any sensor */
    hours: field(4, 1, 72, 1, 'h'),
  },
  'not-stored': {},
} as const satisfies Record<WatchRule, Record<string, WatchField>>);

type Fields = typeof watchFields;
export type WatchSettings = {
  readonly [R in WatchRule]: { readonly on: boolean } & { readonly [F in keyof Fields[R]]: number };
};
/** What differs from the defaults in one dwelling. */
export type WatchOverrides = { readonly [R in WatchRule]?: Readonly<Record<string, number | boolean>> };

export const watchSettings: WatchSettings = Object.freeze(
  Object.fromEntries(
    watchRules.map((rule) => [
      rule,
      Object.freeze({
        on: true,
        ...Object.fromEntries(Object.entries(watchFields[rule]).map(([name, { value }]) => [name, value])),
      }),
    ]),
  ),
) as unknown as WatchSettings;

/**
 * The settings of a dwelling: the defaults with its own laid over them.
 *
 * @throws RangeError naming the rule, the setting, its value and its range
 */
export function watchSettingsOf(overrides: WatchOverrides): WatchSettings {
  const settings = Object.fromEntries(
    watchRules.map((rule) => {
      const own: Record<string, number | boolean> = { ...watchSettings[rule] };
      const fields: Readonly<Record<string, WatchField>> = watchFields[rule];
      for (const [name, value] of Object.entries(overrides[rule] ?? {})) {
        const known = fields[name];
        if (name === 'on' ? typeof value !== 'boolean' : known === undefined) {
          throw new RangeError(`${rule} has no setting ${name}; it has on, ${Object.keys(fields).join(', ')}`);
        }
        if (known !== undefined && !(Number(value) >= known.low && Number(value) <= known.high)) {
          throw new RangeError(
            `${name} of ${rule} is ${value} ${known.unit}; it must lie between ${known.low} and ${known.high} ${known.unit}`.trimEnd(),
          );
        }
        own[name] = value;
      }
      return [rule, own];
    }),
  );
  return settings as unknown as WatchSettings;
}

/** How notices are told, whatever the rule. Common practice, no source. */
export const noticeSettings = Object.freeze({
  /** an hour is judged so long after its end: its last readings are in by then, ms */
  settleMs: 10 * 60_000,
  /** an event that became known longer ago than this is recorded and not sent, h */
  freshHours: 48,
  /** word of an end is sent so long after it at most, h */
  endFreshHours: 96,
  /** hours from word to the first reminder, to the second, and so on; the last repeats */
  reminderHours: Object.freeze([24, 72, 168, 336]),
  /** an event of whose place nothing was known for so long is not kept up, h */
  gapHours: 96,
  /** local time of the weekly summary; 1 is Monday. One that is late by more than `summaryLateHours` is left out */
  summaryWeekday: 1,
  summaryHour: 8,
  summaryLateHours: 36,
});

export type NoticeSettings = typeof noticeSettings;

/** Hours before an hour that a rule may look back on, whatever its settings. */
export function lookbackHours(settings: WatchSettings): number {
  const days = Math.max(
    settings['hidden-layer-damp'].days,
    settings['loft-wetter'].days,
    settings['room-too-cold'].days,
  );
  return Math.max(
    24 * Math.max(days, settings['room-too-moist'].days),
    settings['surface-damp'].ofHours,
    settings['condensing-now'].dryHours + 1,
    settings['condensation-ahead'].afterDryHours,
    settings['timber-wet'].hours,
    settings['readings-stopped'].hours + 1,
    48,
    noticeSettings.gapHours,
  );
}
