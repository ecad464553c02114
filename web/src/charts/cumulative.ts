import { wallOf, winterStart } from '../time/zone.ts';
import { plainEntries, type Trace } from './trace.ts';

const DAY_MS = 86_400_000;

/** Days since 1 October of the winter in which a column of local midnights begins. */
export function daysSinceOctober(zone: string, days: readonly number[]): number[] {
  const first = days[0];
  if (first === undefined) return [];
  const october = wallOf(zone, winterStart(zone, first));
  return days.map((day) => Math.round((wallOf(zone, day) - october) / DAY_MS));
}

/** What is drawn of one phase: columns by the calendar day, each day its UTC midnight. */
export interface DailyColumns {
  readonly day: readonly number[];
  readonly measured: readonly number[];
  readonly expected?: readonly number[] | null;
  readonly expectedLow?: readonly number[] | null;
  readonly expectedHigh?: readonly number[] | null;
}

/** One winter of one phase, on days since 1 October. */
export interface WinterPart {
  readonly phase: 'before' | 'after';
  /** e.g. 2025/26 */
  readonly winter: string;
  readonly day: readonly number[];
  /** days since 1 October */
  readonly x: readonly number[];
  readonly measured: readonly number[];
  readonly expected: {
    readonly value: readonly number[];
    readonly low: readonly number[];
    readonly high: readonly number[];
  } | null;
}

const octoberOf = (day: number): number => winterStart('UTC', day);

function winterName(october: number): string {
  const year = new Date(october).getUTCFullYear();
  return `${year}/${String((year + 1) % 100).padStart(2, '0')}`;
}

/** Cuts both phases into winters, 1 October to 30 September. */
export function winterParts(before: DailyColumns | null, after: DailyColumns | null): WinterPart[] {
  return (['before', 'after'] as const).flatMap((phase) => {
    const columns = phase === 'before' ? before : after;
    if (columns === null) return [];
    const { day, measured, expected, expectedLow, expectedHigh } = columns;
    const octobers = [...new Set(day.map(octoberOf))];
    return octobers.map((october): WinterPart => {
      const from = day.findIndex((each) => octoberOf(each) === october);
      const to = day.findLastIndex((each) => octoberOf(each) === october) + 1;
      const own = day.slice(from, to);
      return {
        phase,
        winter: winterName(october),
        day: own,
        x: daysSinceOctober('UTC', own),
        measured: measured.slice(from, to),
        expected:
          expected && expectedLow && expectedHigh
            ? { value: expected.slice(from, to), low: expectedLow.slice(from, to), high: expectedHigh.slice(from, to) }
            : null,
      };
    });
  });
}

interface Says {
  /** the name of a line wherever its figures are said, and the words at its end */
  readonly measured: (part: WinterPart) => Pick<Trace, 'name' | 'label'>;
  readonly expected: (part: WinterPart) => Pick<Trace, 'name' | 'label'>;
}

/** Before, after, and what would have been, winter by winter on one axis of days since 1 October. */
export const winterTraces = (parts: readonly WinterPart[], says: Says): Trace[] =>
  parts.flatMap((part): Trace[] => {
    const { expected, x } = part;
    return [
      ...(expected === null
        ? []
        : [
            {
              ...says.expected(part),
              ink: 'ink' as const,
              stroke: 'dashed' as const,
              entries: plainEntries(expected.value, x, expected),
            },
          ]),
      {
        ...says.measured(part),
        ink: part.phase === 'before' ? 'inkSoft' : 'accent',
        stroke: part.phase === 'before' ? 'plain' : 'bold',
        entries: plainEntries(part.measured, x),
      },
    ];
  });

/** The last day of the winter that any part reaches, at least the end of March. */
export const lastDay = (parts: readonly WinterPart[]): number => Math.max(182, ...parts.flatMap(({ x }) => x));
