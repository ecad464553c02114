import { createHash, type Hash } from 'node:crypto';
import {
  byBytes,
  changeLine,
  dayLine,
  dayText,
  NO_ENTRY,
  readingLine,
  seriesLine,
  seriesPrefix,
} from '../store/canonical.ts';
import type { DaySeal, JournalEntry, SeriesSeal } from '../store/port.ts';
import { sha256, textOf } from './check-bag.ts';
import type { PackContents } from './scope.ts';
import type { PackedSeries } from './tables.ts';
import type { PackFault, Unpacked } from './unpack.ts';

type Complain = (fault: PackFault) => void;

export const JOURNAL = 'data/provenance/journal.txt';

/** The journal as it stands in the pack; lines that are none are named. */
export function readJournal(pack: Unpacked, complain: Complain): JournalEntry[] {
  const entries: JournalEntry[] = [];
  const lines = (textOf(pack, JOURNAL) ?? '').split('\n');
  for (const [k, line] of lines.entries()) {
    if (line === '') continue;
    const [, id, at, subject, subjectId, content] = /^(\d+),([^,]+),([a-z_]+),(\d+),(.*)$/.exec(line) ?? [];
    const entry = {
      id: Number(id),
      at: Date.parse(at ?? ''),
      subject: subject ?? '',
      subjectId: Number(subjectId),
      content: content ?? '',
    };
    if (entry.id !== entries.length + 1 || Number.isNaN(entry.at) || !isJson(entry.content)) {
      complain({ part: 'chain', member: JOURNAL, message: `line ${k + 1} is not the change ${entries.length + 1}` });
      break;
    }
    entries.push(entry);
  }
  return entries;
}

function isJson(content: string): boolean {
  try {
    JSON.parse(content);
    return true;
  } catch {
    return false;
  }
}

/** Whether each day of the chain follows from the day before, and from the digests and changes of its own. */
export function checkChain(
  chain: readonly DaySeal[],
  seriesDays: readonly SeriesSeal[],
  journal: readonly JournalEntry[],
  known: ReadonlyMap<string, string>,
  complain: Complain,
): void {
  const fault = (member: string, message: string): void =>
    complain({ part: 'chain', member: `data/provenance/${member}`, message });
  const byDay = new Map<number, SeriesSeal[]>();
  for (const one of seriesDays) byDay.set(one.day, [...(byDay.get(one.day) ?? []), one]);
  let previous = NO_ENTRY;
  let day: number | null = null;
  for (const seal of chain) {
    const words = dayText(seal.day);
    if (day !== null && seal.day !== day) fault('chain.csv', `${words} does not follow the day before`);
    day = seal.day + 1;
    if (seal.previous !== previous || sha256(dayLine(seal)) !== seal.entry) {
      fault('chain.csv', `the chain is broken at ${words}`);
    }
    previous = seal.entry;
    const own = byDay.get(seal.day) ?? [];
    byDay.delete(seal.day);
    if (
      sha256(own.map(seriesLine).sort(byBytes).join('')) !== seal.readingsDigest ||
      own.reduce((sum, { readings }) => sum + readings, 0) !== seal.readings
    ) {
      fault('series-days.csv', `its lines of ${words} are not those that were sealed`);
    }
    const changes =
      seal.firstChange === null ? [] : journal.slice(seal.firstChange - 1, seal.lastChange ?? seal.firstChange);
    if (sha256(changes.map(changeLine).join('')) !== seal.changesDigest) {
      fault('journal.txt', `its changes sealed on ${words} are not those that were sealed`);
    }
    const received = known.get(words);
    if (received !== undefined && received.toLowerCase() !== seal.entry) {
      fault('chain.csv', `the entry of ${words} is not the one that was received: the chain was made again`);
    }
  }
  for (const other of byDay.keys())
    fault('series-days.csv', `it has lines of ${dayText(other)}, which is no day of the chain`);
  for (const words of known.keys()) {
    if (!chain.some((seal) => dayText(seal.day) === words)) fault('chain.csv', `${words} is no day of the chain`);
  }
}

/** Sums up again what arrived of a series day by day, while its readings are read. */
export interface SeriesSums {
  add(time: number, value: number, arrivedOn: number): void;
  end(): void;
}

/** How much of the chain could be held against readings. */
export interface Summed {
  /** days of a series that are whole in the pack */
  whole: number;
}

export function sumSeries(
  series: PackedSeries,
  chain: readonly DaySeal[],
  seriesDays: readonly SeriesSeal[],
  summed: Summed,
  complain: Complain,
): SeriesSums {
  const prefix = seriesPrefix(series);
  const member = `data/readings/series-${series.id}.csv`;
  const found = new Map<number, { readings: number; hash: Hash }>();
  const sealedDays = new Set(chain.map(({ day }) => day));
  return {
    add(time, value, arrivedOn) {
      if (!sealedDays.has(arrivedOn)) return;
      let own = found.get(arrivedOn);
      if (own === undefined) {
        own = { readings: 0, hash: createHash('sha256') };
        found.set(arrivedOn, own);
      }
      own.readings++;
      own.hash.update(readingLine(prefix, time, value));
    },
    end() {
      const sealed = seriesDays.filter(
        ({ sensorId, quantity }) => sensorId === series.sensorId && quantity === series.quantity,
      );
      for (const seal of sealed) {
        const own = found.get(seal.day);
        found.delete(seal.day);
        const isWhole = series.windows.some(([from, to]) => from <= seal.first && seal.last < to);
        if (!isWhole) continue;
        summed.whole++;
        if (own?.readings === seal.readings && own.hash.digest('hex') === seal.digest) continue;
        const count = `${own?.readings ?? 0} readings are here, ${seal.readings} were sealed`;
        complain({
          part: 'chain',
          member,
          message: `what arrived on ${dayText(seal.day)} is not what was sealed (${count})`,
        });
      }
      for (const [day, { readings }] of found) {
        complain({
          part: 'chain',
          member,
          message: `${readings} readings are said to have arrived on ${dayText(day)}, when none of this series did`,
        });
      }
    },
  };
}

const written = ['name', 'slug', 'key', 'text', 'note', 'alt', 'shared_source'];

/**
 * Whether the tables of the story are what the journal says they became. Without the key of the journal's digests, names
 * and notes are not looked at.
 */
export function checkStory(
  contents: PackContents,
  rows: readonly Pick<JournalEntry, 'subject' | 'subjectId' | 'content'>[],
  journal: readonly JournalEntry[],
  textKey: string | null,
  complain: Complain,
): void {
  const tables: Record<string, string> = {
    dwelling: 'dwelling.csv',
    place: 'places.csv',
    sensor: 'sensors.csv',
    series: 'series.csv',
    placement: 'placements.csv',
    phase: 'phases.csv',
    calibration: 'calibrations.csv',
    diary_entry: 'diary.csv',
  };
  const fault = (subject: string, id: number, what: string): void =>
    complain({
      part: 'story',
      member: `data/story/${tables[subject]}`,
      message: `${subject.replace('_', ' ')} ${id} ${what}`,
    });
  const last = new Map(journal.map((entry) => [`${entry.subject} ${entry.subjectId}`, entry.content]));
  const here = new Set<string>();
  for (const { subject, subjectId, content } of rows) {
    if (!(subject in tables)) continue;
    const key = `${subject} ${subjectId}`;
    here.add(key);
    const said = last.get(key);
    if (said === undefined) fault(subject, subjectId, 'is not in the journal');
    else if (said === 'null') fault(subject, subjectId, 'was removed, as the journal says');
    else if (!agree(JSON.parse(content), JSON.parse(said), subject, textKey, contents)) {
      fault(subject, subjectId, 'is not what the journal says it became');
    }
  }
  const seriesIds = new Set(contents.series.map(({ id }) => id));
  const placeIds = new Set(contents.places.map(({ id }) => id));
  const sensorIds = new Set(contents.sensors.map(({ id }) => id));
  for (const [key, content] of last) {
    if (content === 'null' || here.has(key)) continue;
    const [subject, id] = key.split(' ') as [string, string];
    const row = JSON.parse(content) as Record<string, number>;
    const belongs =
      (subject === 'calibration' && seriesIds.has(row.series_id!)) ||
      (subject === 'placement' && placeIds.has(row.place_id!) && sensorIds.has(row.sensor_id!)) ||
      (subject === 'series' && sensorIds.has(row.sensor_id!)) ||
      subject === 'phase';
    if (belongs) fault(subject, Number(id), 'is in the journal and not in the pack');
  }
}

type Content = Record<string, unknown>;

function agree(one: Content, said: Content, subject: string, textKey: string | null, contents: PackContents): boolean {
  return Object.keys(said).every((column) => {
    // what kind of dwelling it is, and whether it is going, is no part of a pack
    if (subject === 'dwelling' && (column === 'kind' || column === 'leaving')) return true;
    if (textKey === null && written.includes(column)) return true;
    if (column === 'faces_place_id' && one[column] === null) {
      // the place it faces need not be in the pack
      return said[column] === null || !contents.places.some(({ id }) => id === said[column]);
    }
    return one[column] === said[column];
  });
}
