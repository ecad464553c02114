import type { Assessment, Target, VerdictKind } from '../assessment.ts';
import { isSurface, type PlaceKind } from '../vocabulary.ts';
import type { NightAhead } from '../watch/history.ts';
import { noticeSettings, type WatchSettings } from '../watch/settings.ts';
import type { WatchEvent } from '../watch/watch-event.ts';

/** How f of a ceiling stands to its target. not-compared: the cold side is the loft, of which no target is published. */
export const factorStandings = ['met', 'unsure', 'below', 'not-compared'] as const;
export type FactorStanding = (typeof factorStandings)[number];

/** Tonight at the surface at which condensation is likeliest. */
export interface TonightSummary {
  /** local date on which the night begins, and its end in UTC milliseconds */
  readonly night: string;
  readonly endsAt: number;
  /** name of the surface */
  readonly place: string;
  /** of at least one condensation hour, 0 to 1 */
  readonly chance: number;
  /** lowest dew-point margin, K, with the interval that holds it in 90 of 100 nights */
  readonly marginK: number;
  readonly marginLowK: number;
  readonly marginHighK: number;
  /** UTC milliseconds of the likeliest hour */
  readonly likeliestAt: number;
}

/** Temperature factor of the ceiling that has the lowest, with its 95 % interval. */
export interface FactorSummary {
  readonly place: string;
  /** after the works where there is such a phase, else before */
  readonly phase: 'before' | 'after';
  readonly f: number;
  readonly low: number;
  readonly high: number;
  readonly target: number;
  readonly standing: FactorStanding;
}

/** What is compared before and after: it changes slowly and costs much, so it is worked out once a day. */
export interface WorksSummary {
  /** UTC milliseconds */
  readonly assessedAt: number;
  readonly factor: FactorSummary | null;
  /** of the ceiling with the worst one; null: no span after any works has been named */
  readonly verdict: VerdictKind | null;
  readonly verdictPlace: string | null;
}

/** One home as its line in a list of many shows it. Every figure is as it was at `workedOutAt`. */
export interface HomeSummary {
  /** UTC milliseconds */
  readonly workedOutAt: number;
  /** end of the last hour of which anything is known; null: nothing ever came */
  readonly dataTo: number | null;
  /** null: no forecast can be made */
  readonly tonight: TonightSummary | null;
  /** null: not worked out yet */
  readonly works: WorksSummary | null;
  /** sensors that stand somewhere, those among them that someone must see to, and why: codes, each once, in order */
  readonly sensors: number;
  readonly sensorsToVisit: number;
  readonly visitReasons: readonly string[];
  /** null: it is not watched for, or nothing is known of the last days */
  readonly tooCold: boolean | null;
  readonly tooMoist: boolean | null;
}

interface SummarisedPlace {
  readonly id: number;
  readonly name: string;
  readonly kind: PlaceKind;
}

export interface SummaryInput {
  readonly now: number;
  readonly dataTo: number | null;
  readonly places: readonly SummarisedPlace[];
  readonly nights: readonly NightAhead[];
  readonly works: WorksSummary | null;
  /** what goes on, of all rules */
  readonly notices: readonly WatchEvent[];
  readonly settings: WatchSettings;
  /** sensors that stand somewhere */
  readonly sensors: number;
}

/** Puts what was worked out about a home into its line. Works nothing out itself but which of several is the worst. */
export function summaryOf(input: SummaryInput): HomeSummary {
  const { now, dataTo, places, nights, notices, settings, sensors } = input;
  const has = (fits: (kind: PlaceKind) => boolean): boolean => places.some(({ kind }) => fits(kind));
  const heard = dataTo !== null && now - dataTo < noticeSettings.gapHours * 3_600_000;
  const goesOn = (rule: WatchEvent['rule']): boolean => notices.some((notice) => notice.rule === rule);
  const room = has((kind) => kind === 'room-air');
  const visit = sensorsToVisit(notices, sensors);
  return {
    workedOutAt: now,
    dataTo,
    tonight: worstNight(nights, places),
    works: input.works,
    sensors,
    sensorsToVisit: visit.sensors,
    visitReasons: visit.reasons,
    tooCold:
      goesOn('room-too-cold') ||
      (heard && settings['room-too-cold'].on && room && has((kind) => kind === 'outdoor-air') ? false : null),
    tooMoist:
      goesOn('room-too-moist') || (heard && settings['room-too-moist'].on && room && has(isSurface) ? false : null),
  };
}

function worstNight(nights: readonly NightAhead[], places: readonly SummarisedPlace[]): TonightSummary | null {
  const worst = [...nights].sort((a, b) => b.chance - a.chance || a.margin.value - b.margin.value)[0];
  if (worst === undefined) return null;
  return {
    night: worst.date,
    endsAt: worst.to,
    place: places.find(({ id }) => id === worst.placeId)?.name ?? '',
    chance: worst.chance,
    marginK: worst.margin.value,
    marginLowK: worst.margin.low,
    marginHighK: worst.margin.high,
    likeliestAt: worst.likeliestAt,
  };
}

/** While nothing at all is heard, every sensor is out of reach. */
function sensorsToVisit(notices: readonly WatchEvent[], all: number): { sensors: number; reasons: string[] } {
  const stopped = notices.some(({ rule }) => rule === 'readings-stopped');
  const troubled = notices.filter(({ rule }) => rule === 'sensor-trouble');
  const reasons = [...(stopped ? ['readings-stopped'] : []), ...troubled.map(({ detail }) => detail)];
  const sensors = new Set(troubled.map(({ sensorId }) => sensorId)).size;
  return { sensors: stopped ? Math.max(all, sensors) : sensors, reasons: [...new Set(reasons)].sort() };
}

/** From the worst to the best of what can be said of a home with several ceilings. */
const verdictOrder: readonly VerdictKind[] = [
  'worse',
  'no-change-shown',
  'better-short-of-target',
  'not-enough-evidence',
  'target-met',
];

export interface CeilingAssessed {
  readonly place: string;
  readonly assessment: Assessment;
}

/**
 * The lowest f and the worst verdict of a home's ceilings.
 *
 * @param hasAfter whether a span after any works has been named: without one there is no verdict to wait for
 */
export function worksOf(ceilings: readonly CeilingAssessed[], hasAfter: boolean, assessedAt: number): WorksSummary {
  const factors = ceilings
    .flatMap(({ place, assessment }): FactorSummary[] => {
      const phase = hasAfter ? assessment.after : assessment.before;
      if (!phase?.f) return [];
      const { value: f, low, high } = phase.f;
      const { target, coldSide } = assessment;
      const stands = coldSide === 'loft-air' ? 'not-compared' : standing(phase.f, target);
      return [{ place, phase: phase.phase, f, low, high, target: target.f, standing: stands }];
    })
    .sort((a, b) => a.f - b.f);
  const verdicts = (hasAfter ? [...ceilings] : []).sort(
    (a, b) => verdictOrder.indexOf(a.assessment.verdict.kind) - verdictOrder.indexOf(b.assessment.verdict.kind),
  );
  return {
    assessedAt,
    factor: factors[0] ?? null,
    verdict: verdicts[0]?.assessment.verdict.kind ?? null,
    verdictPlace: verdicts[0]?.place ?? null,
  };
}

/** The whole interval has to be on one side of the target for anything to be said. */
const standing = ({ low, high }: { low: number; high: number }, { f }: Pick<Target, 'f'>): FactorStanding =>
  low >= f ? 'met' : high < f ? 'below' : 'unsure';
