import type {
  Assessment,
  Causes,
  Control,
  Estimate,
  Finding,
  MovedTrouble,
} from '../../../server/api/contract/comparison.ts';
import type { SensorFinding } from '../../../server/api/contract/dwelling.ts';
import type { AdviceWire, Now, PlaceNow, Problem } from '../../../server/api/contract/figures.ts';
import type { LiningAnswer } from '../../../server/api/contract/lining-answer.ts';
import type { NoticeWire } from '../../../server/api/contract/notices.ts';
import type { NoticeSaid } from '../../../server/words/notice-facts.ts';
import type { Write as WriteAnywhere } from '../../../server/words/writing.ts';

/** What sentences of the page are made with. */
export interface Write extends WriteAnywhere {
  estimate(figure: Estimate, unit: string, places: number): string;
}

/** Sentences of the server about the moment and about requests, put into a language from their codes and figures. */
export interface SaidFirst {
  state(place: Pick<PlaceNow, 'kind' | 'state' | 'surfaceHumidity'>): string;
  headline(now: Pick<Now, 'headline' | 'headlineAbout'>): string;
  /** what it rests on, where no surface can be named */
  detail(now: Pick<Now, 'detail' | 'headlineAbout'>): string;
  problem(problem: Problem): string;
}

interface Coded {
  readonly code: string;
  readonly message: string;
}

/** The other sentences of the server. A code that is not known yet keeps the server's English. */
export interface Said {
  finding(finding: Finding): string;
  mend(finding: Finding): string | null;
  verdict(assessment: Assessment): string;
  reason(assessment: Assessment, index: number): string;
  moved(moved: MovedTrouble): string;
  control(control: Extract<Control, { kind: 'agrees' | 'disagrees' }>): string;
  causes(causes: Causes): string;
  sensor(finding: SensorFinding): string;
  advice(advice: AdviceWire): string;
  caution(caution: Coded): string;
  forecastReason(reason: Coded & { readonly data: Readonly<Record<string, number>> }): string;
  lining(notice: LiningAnswer['notices'][number]): string;
  /** `zone`: IANA time zone of the home */
  notice(notice: NoticeWire, zone: string): NoticeSaid;
  /** names, formulas and sources, by their English */
  term(english: string): string;
}
