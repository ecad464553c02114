import { DateTime } from 'luxon';
import { mouldStage } from '../../physics/mould-stage.ts';
import { type AdviceFacts, adviceMessage, cautionsOf } from '../advice.ts';
import { spanWords } from '../health/shared.ts';
import type { Caution } from '../lining-cautions.ts';
import { fixed, plural, sentence } from '../say.ts';
import type { StoringFault } from './not-stored.ts';
import type { WatchData, WatchEvent, WatchRule } from './watch-event.ts';

/** What a notice says of itself: plain sentences in English. */
export interface NoticeText {
  /** what and where, one line without a full stop */
  readonly title: string;
  /** what was found, with its figures */
  readonly what: string;
  readonly since: string;
  readonly howSure: string;
  readonly whatToDo: readonly string[];
  readonly cautions: readonly Caution[];
}

/** Names and times as the people of the home know them. */
export interface NoticeNames {
  /** IANA time zone */
  readonly zone: string;
  readonly place: (id: number) => string;
  /** name of the room whose air a place has */
  readonly roomOf: (placeId: number) => string;
}

type Said = Pick<WatchEvent, 'rule' | 'placeId' | 'data' | 'begunAt' | 'endedAt' | 'endReason' | 'chance'> & {
  readonly withdrawnAt: number | null;
};

const num = (data: WatchData, name: string): number => {
  const value = data[name];
  return typeof value === 'number' ? value : Number.NaN;
};
const text = (data: WatchData, name: string): string => String(data[name] ?? '');
const known = (data: WatchData, name: string): number | null =>
  typeof data[name] === 'number' ? (data[name] as number) : null;

const figure = (data: WatchData, name: string, plusMinus: string, digits: number, unit: string): string => {
  const half = known(data, plusMinus);
  return `${fixed(num(data, name), digits)}${half === null ? '' : ` ± ${fixed(half, digits)}`} ${unit}`;
};

export const momentWords = (time: number, zone: string): string =>
  DateTime.fromMillis(time, { zone }).setLocale('en-GB').toFormat('ccc d LLL yyyy, HH:mm');

const clockWords = (time: number, zone: string): string => DateTime.fromMillis(time, { zone }).toFormat('HH:mm');

interface Sentences {
  readonly title: string;
  readonly what: string;
  readonly advice: readonly AdviceFacts[];
  /** beside the advice that has a code */
  readonly further?: readonly string[];
  readonly cautions?: readonly Caution[];
}

type Say = (data: WatchData, where: string, room: string, names: NoticeNames) => Sentences;

const mouldCautions = cautionsOf.wipe;

/** To air a room helps where outdoors was the drier. */
function airing(data: WatchData, room: string): AdviceFacts[] {
  const excessPa = known(data, 'excessPa');
  return excessPa !== null && excessPa <= 0 ? [] : [{ code: 'ventilate', data: { room, excessPa } }];
}

const storingWords: Readonly<Record<StoringFault, string>> = {
  full: 'The disk was full.',
  'read-only': 'The database could only be read, not written.',
  busy: 'Another program kept the database to itself.',
  unreachable: 'The database could not be reached.',
  failed: 'The database could not be written.',
};

/** The one place where each rule is put into English sentences. */
const say: Readonly<Record<WatchRule, Say>> = {
  'condensation-ahead': (data, where, room, { zone }) => ({
    title: `${where}: moisture may settle tonight`,
    what: `The forecast for the night of ${text(data, 'date')} puts the lowest dew-point margin at ${fixed(num(data, 'marginK'), 1)} K (${fixed(num(data, 'marginLowK'), 1)} to ${fixed(num(data, 'marginHighK'), 1)} K in 9 of 10 such nights), most likely around ${clockWords(num(data, 'likeliestAt'), zone)}.`,
    advice: airing(data, room),
    further: [`Keep ${room} heated through the night; close the door to a bathroom or kitchen that is in use.`],
  }),
  'condensing-now': (data, where, room, { zone }) => ({
    title: `${where}: moisture is settling`,
    what: `The surface was ${fixed(num(data, 'surfaceC'), 1)} °C, the dew point of ${room} ${fixed(num(data, 'dewPointC'), 1)} °C: a margin of ${figure(data, 'marginK', 'marginPlusMinusK', 1, 'K')} ${data.live === true ? `by the readings of ${clockWords(num(data, 'readAt'), zone)}. When the hour is over, its mean confirms this or takes it back.` : `over ${plural(num(data, 'hours'), 'hour', 'hours')}.`}`,
    advice: [{ code: 'wipe', data: { place: where } }, ...airing(data, room)],
  }),
  'surface-damp': (data, where, room) => ({
    title: `${where}: stays damp`,
    what: `In ${fixed(num(data, 'hours'), 0)} of the last ${fixed(num(data, 'ofHours'), 0)} hours the humidity at the surface was ${fixed(num(data, 'limitPct'), 0)} % or more, at most ${fixed(num(data, 'highestPct'), 0)} %. Mould can grow at such a humidity without any water being seen.`,
    advice: airing(data, room),
    further: [`Heat ${room} evenly by day and night, and leave some air between furniture and the cold surface.`],
    cautions: mouldCautions,
  }),
  'mould-stage': (data, where) => ({
    title: `${where}: mould index passed ${fixed(num(data, 'stage'), 0)} of 6`,
    what: `The mould index, worked out from every hour since readings began as for paper-faced board, reached ${fixed(num(data, 'index'), 1)} of 6: ${mouldStage(num(data, 'stage')).words}.`,
    advice: [],
    further: [
      data.visible === true
        ? `Look at ${where} in good light. Where there is mould, have it removed before it is covered.`
        : `Look at ${where} in good light now and then, and keep it drier: warmer surface, less moisture in the air.`,
    ],
    cautions: mouldCautions,
  }),
  'hidden-layer-damp': (data, where) => ({
    title: `${where}: damp out of sight`,
    what: `In ${fixed(num(data, 'dampSharePct'), 0)} % of the last ${fixed(num(data, 'days'), 0)} days the humidity there was ${fixed(num(data, 'limitPct'), 0)} % or more; at the end ${figure(data, 'humidityPct', 'humidityPlusMinusPct', 0, '%')} at ${fixed(num(data, 'temperatureC'), 1)} °C.`,
    advice: [{ code: 'check-lining', data: { place: where, humidityPct: num(data, 'humidityPct') } }],
  }),
  'loft-wetter': (data, where) => {
    const before = known(data, 'beforePa');
    return {
      title: `${where}: wetter than ${before === null ? 'outdoors explains' : 'before the works'}`,
      what: `On the mean of ${fixed(num(data, 'days'), 0)} days it held ${fixed(num(data, 'excessPa'), 0)} Pa more water vapour than outdoors${before === null ? '' : `; before the works it was ${fixed(before, 0)} Pa`}. Told from ${fixed(num(data, 'limitPa'), 0)} Pa on.`,
      advice: [{ code: 'check-eaves', data: { because: 'loft-air', place: where, excessPa: num(data, 'excessPa') } }],
    };
  },
  'timber-wet': (data, where) => ({
    title: `${where}: timber over ${fixed(num(data, 'limitPct'), 0)} % moisture`,
    what: `The mean of ${fixed(num(data, 'hours'), 0)} hours was ${fixed(num(data, 'moisturePct'), 1)} % of dry mass. Timber that stays over ${fixed(num(data, 'limitPct'), 0)} % may decay.`,
    advice: [
      {
        code: 'check-eaves',
        data: { because: 'timber', place: where, timberMoisturePct: num(data, 'moisturePct') },
      },
    ],
  }),
  'room-too-cold': (data, where) => ({
    title: `${where}: too cold to keep its surfaces dry`,
    what: `The mean of ${fixed(num(data, 'days'), 0)} days was ${fixed(num(data, 'roomC'), 1)} °C, under ${fixed(num(data, 'belowC'), 1)} °C, with ${fixed(num(data, 'outdoorsC'), 1)} °C outdoors. In a cold room ordinary moisture is enough for damp.`,
    advice: [],
    further: [
      `Heat ${where} steadily, if only a little: a room that is let go cold gathers damp in its coldest corners.`,
    ],
    cautions: cautionsOf.heat,
  }),
  'room-too-moist': (data, where) => {
    const wanted = known(data, 'factorWanted');
    const factor = known(data, 'factor');
    const fabric =
      wanted === null || factor === null
        ? ''
        : ` The surface keeps ${fixed(factor, 2)} of the way from outdoors to room temperature and would need ${fixed(wanted, 2)}.`;
    const humidity = known(data, 'roomHumidityPct');
    return {
      title: `${where}: more moisture than its fabric can bear`,
      what: `On the mean of ${fixed(num(data, 'days'), 0)} days, ${fixed(num(data, 'roomC'), 1)} °C${humidity === null ? '' : ` and ${fixed(humidity, 0)} %`} in the room brought ${text(data, 'surface')} (${fixed(num(data, 'surfaceC'), 1)} °C) to ${fixed(num(data, 'humidityPct'), 0)} %.${fabric}`,
      advice: airing(data, where),
      further: [
        'Dry laundry elsewhere, cover pots, air after showers. Where that is done already, it is the cold surface and not the way of living that has to change.',
      ],
    };
  },
  'sensor-trouble': (data) => ({
    title: `Sensor ${text(data, 'sensor')} needs a look`,
    what: text(data, 'message'),
    advice: [],
    further: [text(data, 'whatToDo')],
  }),
  'readings-stopped': (data) => ({
    title: 'No readings at all are coming in',
    what: `For ${plural(num(data, 'hours'), 'hour', 'hours')} nothing was heard of any sensor, so nothing else can be watched.`,
    advice: [],
    further: [
      'Check the power of the broker or router and the network; then look at Sensors, and at the log of this program.',
    ],
  }),
  'not-stored': (data) => ({
    title: 'Readings could not be stored',
    what: `${storingWords[data.fault as StoringFault]} Nothing that was acknowledged is lost; what was sent meanwhile was not acknowledged. Sensors that wait for that send it again; others have a gap.`,
    advice: [],
    further: [
      data.fault === 'full'
        ? 'Free some space on the disk of the computer that runs coomb. Storing goes on by itself.'
        : 'Look at the log of this program, and let coomb doctor look for the cause. Storing goes on by itself.',
    ],
  }),
};

/** A notice in words. */
export function noticeText(notice: Said, names: NoticeNames): NoticeText {
  const { rule, placeId, data } = notice;
  const where = placeId === null ? '' : names.place(placeId);
  const room = placeId === null ? '' : names.roomOf(placeId);
  const { title, what, advice, further = [], cautions = [] } = say[rule](data, where, room, names);
  const all = [...cautions, ...advice.flatMap(({ code }) => cautionsOf[code])];
  return {
    title,
    what,
    since: sinceWords(notice, names.zone),
    howSure: sureWords(notice),
    whatToDo: [...advice.map(adviceMessage), ...further],
    cautions: all.filter(({ code }, k) => all.findIndex((one) => one.code === code) === k),
  };
}

function sinceWords({ begunAt, endedAt, endReason, withdrawnAt }: Said, zone: string): string {
  const begun = momentWords(begunAt, zone);
  if (withdrawnAt !== null) return `Told for ${begun}; readings that came later show that it was not so.`;
  if (endedAt === null) return `Since ${begun}.`;
  const lasted = spanWords(endedAt - begunAt);
  const span = `From ${begun} to ${momentWords(endedAt, zone)}, ${lasted}.`;
  if (endReason === 'no-data') return `${span} How it went on is not known: no readings since.`;
  if (endReason === 'rule-off') return `${span} It is not watched for any more.`;
  return span;
}

/** How sure a notice is, by the chance that it is so given what the sensors may be wrong by. */
function sureWords({ rule, chance }: Said): string {
  switch (rule) {
    case 'condensation-ahead':
      return `A chance of about ${fixed(100 * (chance ?? 0), 0)} %, from how nights like this went before.`;
    case 'mould-stage':
      return 'A model of how mould grows, not a sighting: real growth may lie a stage higher or lower.';
    case 'loft-wetter':
      return 'A mean of many days, so single readings do not matter; two humidity sensors of ordinary make may differ by some 40 Pa.';
    case 'timber-wet':
      return 'Cheap moisture pins are off by 2 % or so; the trend says more than the single figure.';
    case 'room-too-cold':
    case 'room-too-moist':
      return 'A mean of many readings: beyond reasonable doubt, unless the sensor hangs in an odd spot.';
    case 'sensor-trouble':
    case 'readings-stopped':
      return 'Seen in the readings themselves.';
    case 'not-stored':
      return 'Seen by the program itself.';
    case 'condensing-now':
    case 'surface-damp':
    case 'hidden-layer-damp':
      return chanceWords(chance);
  }
}

function chanceWords(chance: number | null): string {
  if (chance === null) return 'How far these sensors may be off is not known.';
  const share = `${fixed(Math.min(99, Math.max(1, 100 * chance)), 0)} %`;
  const words =
    chance >= 0.95
      ? 'almost certain'
      : chance >= 0.8
        ? 'likely'
        : chance >= 0.4
          ? 'could be either: it is close to the limit'
          : 'rather not so';
  return `${sentence(words)}, given what the sensors may be off by (${share}).`;
}
