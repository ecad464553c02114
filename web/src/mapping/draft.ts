import type { Mapping, NewMapping, UnassignedTopic } from '../../../server/api/contract/mapping.ts';
import type { Quantity } from '../../../server/physics/quantities.ts';
import { type Unit, unitsOf } from '../../../server/physics/units.ts';

type Leaf = UnassignedTopic['leaves'][number];
export type TimeForm = NonNullable<NonNullable<Mapping['time']>>['form'];

/** A value of a message as someone is saying what it is. Numbers are text until the form is sent. */
export interface DraftValue {
  readonly pointer: string;
  readonly meaning: Quantity | 'time';
  readonly unit: Unit;
  readonly form: TimeForm;
  readonly scale: string;
  readonly offset: string;
  /** template of another sensor's key; empty: of the same sensor as the rest */
  readonly sensorKey: string;
}

export interface Draft {
  readonly topicPattern: string;
  readonly sensorKey: string;
  readonly values: readonly DraftValue[];
}

export const emptyDraft = (topicPattern: string, sensorKey: string): Draft => ({ topicPattern, sensorKey, values: [] });

/** A value just chosen, as its name and size suggest. */
export function chosen(leaf: Leaf): DraftValue {
  const meaning = leaf.quantity?.quantity ?? (leaf.time === null ? 'temperature' : 'time');
  return {
    pointer: leaf.pointer,
    meaning,
    unit: leaf.quantity?.unit ?? unitsOf(meaning === 'time' ? 'temperature' : meaning)[0]!,
    form: leaf.time ?? 'iso-8601',
    scale: '1',
    offset: '0',
    sensorKey: '',
  };
}

export const has = (draft: Draft, pointer: string): boolean => draft.values.some((value) => value.pointer === pointer);

/** Takes a value in, or out again. */
export function toggle(draft: Draft, leaf: Leaf): Draft {
  return has(draft, leaf.pointer) ? without(draft, leaf.pointer) : withValue(draft, chosen(leaf));
}

export const without = (draft: Draft, pointer: string): Draft => ({
  ...draft,
  values: draft.values.filter((value) => value.pointer !== pointer),
});

const withValue = (draft: Draft, value: DraftValue): Draft => ({ ...draft, values: [...draft.values, value] });

/** Takes in every value whose name tells what it is; the first that tells the time is the time. */
export function withSuggested(draft: Draft, leaves: readonly Leaf[]): Draft {
  let next = draft;
  for (const leaf of leaves) {
    if (has(next, leaf.pointer)) continue;
    const timeKnown = next.values.some(({ meaning }) => meaning === 'time');
    if (leaf.quantity !== null || (leaf.time !== null && !timeKnown)) next = withValue(next, chosen(leaf));
  }
  return next;
}

/** Changes one value; a unit that its new meaning does not come in becomes the usual one. */
export function changed(draft: Draft, pointer: string, change: Partial<DraftValue>): Draft {
  const values = draft.values.map((value) => {
    if (value.pointer !== pointer) return value;
    const next = { ...value, ...change };
    if (next.meaning === 'time') return next;
    const units = unitsOf(next.meaning);
    return units.includes(next.unit) ? next : { ...next, unit: units[0]! };
  });
  return { ...draft, values };
}

/** What keeps a draft from being a mapping. */
export type DraftFault = 'nothing-chosen' | 'two-times' | 'no-number';

export type MappingOrFault =
  | { readonly kind: 'mapping'; readonly mapping: NewMapping }
  | { readonly kind: 'fault'; readonly fault: DraftFault; readonly pointer: string | null };

const decimal = (text: string): number => (text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.')));

/** The mapping that a draft says; what only the server can judge is left to it. */
export function toMapping(draft: Draft): MappingOrFault {
  const times = draft.values.filter(({ meaning }) => meaning === 'time');
  const values: NewMapping['values'] = [];
  if (times.length > 1) return { kind: 'fault', fault: 'two-times', pointer: times[1]!.pointer };
  for (const { pointer, meaning, unit, scale, offset, sensorKey } of draft.values) {
    if (meaning === 'time') continue;
    const numbers = { scale: decimal(scale), offset: decimal(offset) };
    if (!Number.isFinite(numbers.scale) || !Number.isFinite(numbers.offset)) {
      return { kind: 'fault', fault: 'no-number', pointer };
    }
    const key = sensorKey.trim();
    values.push({ pointer, quantity: meaning, unit, ...numbers, sensorKey: key === '' ? null : key });
  }
  if (values.length === 0) return { kind: 'fault', fault: 'nothing-chosen', pointer: null };
  const [time] = times;
  return {
    kind: 'mapping',
    mapping: {
      topicPattern: draft.topicPattern.trim(),
      sensorKey: draft.sensorKey.trim(),
      values,
      time: time === undefined ? null : { pointer: time.pointer, form: time.form },
    },
  };
}

/** A mapping as a draft, to be changed. */
export function draftOf({ topicPattern, sensorKey, values, time }: Mapping): Draft {
  const drafted: DraftValue[] = values.map((value) => ({
    pointer: value.pointer,
    meaning: value.quantity,
    unit: value.unit,
    form: 'iso-8601',
    scale: String(value.scale),
    offset: String(value.offset),
    sensorKey: value.sensorKey ?? '',
  }));
  if (time !== null) {
    drafted.push({
      pointer: time.pointer,
      meaning: 'time',
      unit: 'C',
      form: time.form,
      scale: '1',
      offset: '0',
      sensorKey: '',
    });
  }
  return { topicPattern, sensorKey, values: drafted };
}

/** Pointer to a child of what a pointer points at. @source RFC 6901, 3 */
export const childPointer = (parent: string, key: string | number): string =>
  `${parent}/${String(key).replaceAll('~', '~0').replaceAll('/', '~1')}`;

/** Levels of a topic that may name the sensor: those that a pattern can hold a part for. */
export const namingLevels = (topic: string): readonly { readonly index: number; readonly text: string }[] =>
  topic.split('/').flatMap((text, index) => (text === '' || /[{}]/.test(text) ? [] : [{ index, text }]));

/** The pattern for all topics that differ from this one in one level, which names the sensor. */
export function namedByLevel(topic: string, index: number): Pick<Draft, 'topicPattern' | 'sensorKey'> {
  const levels = topic.split('/').map((text, i) => (i === index ? '{sensor}' : /[{}]/.test(text) ? '+' : text));
  return { topicPattern: levels.join('/'), sensorKey: '{sensor}' };
}

/** The pattern for this topic alone, with a name made up for its sensor. */
export const namedByText = (topic: string, name: string): Pick<Draft, 'topicPattern' | 'sensorKey'> => ({
  topicPattern: topic
    .split('/')
    .map((text) => (/[{}]/.test(text) ? '+' : text))
    .join('/'),
  sensorKey: name,
});

/** Which level a pattern of ours leaves open for the sensor's name; null: none, or more than that. */
export function namingLevelOf({ topicPattern, sensorKey }: Pick<Draft, 'topicPattern' | 'sensorKey'>): number | null {
  if (sensorKey !== '{sensor}') return null;
  const index = topicPattern.split('/').indexOf('{sensor}');
  return index < 0 ? null : index;
}
