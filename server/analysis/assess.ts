import type {
  AfterResult,
  Assessment,
  AssessmentSettings,
  BeforeResult,
  Conditions,
  Control,
  CumulativeRiskHours,
  Finding,
  FindingCode,
  MouldIndexByDay,
  MovedTrouble,
  SensorUncertainty,
  Span,
} from './assessment.ts';
import type { AssessedPlace, AssessmentInput } from './assessment-input.ts';
import { assumedUncertainty, checkSettings } from './assessment-settings.ts';
import { causesOf } from './causes.ts';
import { changeDraws, changeOf, type FactorPair } from './change.ts';
import { conditionsOf, overlapOf } from './conditions.ts';
import { controlOf } from './control.ts';
import { estimateOf } from './estimate.ts';
import { zoneIsKnown } from './local-nights.ts';
import {
  behindLining,
  type ElsewhereContext,
  loftAir,
  loftTimber,
  phaseColumns,
  surfaceElsewhere,
} from './moved-trouble.ts';
import { type PhaseHours, phaseHours } from './phase-hours.ts';
import type { PlaceHours } from './place-hours.ts';
import { fitResponse, type Response } from './response.ts';
import { riskCriterionWords } from './risk.ts';
import { rounded } from './rounded.ts';
import { fixed } from './say.ts';
import { type SensorDraws, sensorDraws } from './sensor-draws.ts';
import {
  checkPhases,
  checkSeries,
  finding,
  judgePhase,
  judgeZone,
  lastKnown,
  longestStretch,
  movesWithin,
  type PhaseName,
} from './sufficiency.ts';
import { surfaceVerdict } from './surface-verdict.ts';
import { type FactorOffsets, type FactorResult, temperatureFactor } from './temperature-factor.ts';
import { verdictOf } from './verdict.ts';
import { HOUR_MS } from './vocabulary.ts';
import { beginsWinter } from './winters.ts';
import { type WetnessOffsets, type WithoutWorks, withoutWorks } from './without-works.ts';
import { workingOf } from './working/assessment-working.ts';

/**
 * The whole before-and-after assessment of one treated surface. Pure: the same input gives the same result; figures are
 * rounded to nine significant digits, so that they do not hang on the last bits of a machine's exponential.
 *
 * Nothing in the input makes it throw: what cannot be used becomes a finding.
 */
export function assess(input: AssessmentInput): Assessment {
  const { settings, findings: settingFindings } = checkSettings(input.settings, input.target);
  const findings: Finding[] = [...settingFindings];
  const zone = knownZone(input.zone, findings);
  const now = input.now ?? lastKnown([input.surface, input.room, input.outdoor, input.loftAir]);
  const phases = checkPhases(input, now);
  findings.push(...phases.findings);
  const cold = coldSideOf(input, findings);
  const uncertainties = uncertaintiesOf(input, findings);
  const context: Context = { input, settings, zone, now, cold, uncertainties, draws: new Map() };
  checkPlaces(context, phases, findings);

  const before = phases.before && measurePhase('before', input.surface, phases.before, context, findings);
  const after = phases.after && measurePhase('after', input.surface, phases.after, context, findings);
  const pair: FactorPair | null =
    before?.factor && after?.factor ? { before: before.factor, after: after.factor } : null;

  const either = before ?? after;
  if (either) judgeZone(either.hours, zone, findings);
  const response = before?.factor ? responseOf(before, context) : null;
  judgeResponse(response, before, after, findings);
  const counts = withoutWorks(
    before?.hours ?? null,
    after?.hours ?? null,
    response,
    wetnessOffsets(context),
    settings,
    input.seed,
    input.surface.id,
  );
  const control = controlResult(pair, phases, context, findings);
  const causes =
    before?.factor &&
    causesOf(
      before.hours,
      before.factor,
      { surface: drawsOf(input.surface, context), room: drawsOf(input.room, context) },
      input.target,
      settings,
    );
  const moved = movedTroubleOf(phases, counts, context, findings);
  judgeHumidity(before, after, findings);
  const counted = before && after ? overlapOf(before.hours, after.hours) : null;
  const overlap = counted && counted.inside / counted.hours;
  judgeOverlap(overlap, findings);

  const change = pair && estimateOf(changeOf(pair), changeDraws(pair));
  const ordered = inOrder(findings);
  const riskHours = {
    ...counts.riskHours,
    criterion: riskCriterionWords(settings.riskLimitPct),
    limitPct: settings.riskLimitPct,
  };
  const beforeResult = before && phaseResult('before', before, findings);
  const afterResult = after && phaseResult('after', after, findings);
  const result: Omit<Assessment, 'working'> = {
    before: beforeResult,
    after: afterResult,
    coldSide: input.outdoor === null && input.loftAir !== null ? 'loft-air' : 'outdoor-air',
    change,
    riskHours,
    condensationNights: {
      ...counts.condensationNights,
      nightFrom: settings.nightFrom,
      nightTo: settings.nightTo,
    },
    mouldIndex: { ...counts.mouldIndex, sensitivity: settings.mouldSensitivity, statistic: 'highest' },
    cumulativeRiskHours: cumulative(before?.hours ?? null, after?.hours ?? null, counts),
    mouldIndexByDay: mouldByDay(before?.hours ?? null, after?.hours ?? null, counts),
    conditions: { before: before?.conditions ?? null, after: after?.conditions ?? null, overlap, overlapOf: counted },
    response: response?.fit ?? null,
    control,
    causes: causes ?? null,
    movedTrouble: moved,
    sufficiency: { enough: !findings.some((one) => one.severity === 'blocks'), findings: ordered },
    verdict: verdictOf({
      surface: input.surface.name,
      surfaceKind: pair && surfaceVerdict(pair, control, input.target, settings),
      before: beforeResult,
      after: afterResult,
      change,
      riskHours,
      control,
      moved,
      findings: ordered,
      target: input.target,
    }),
    target: input.target,
    uncertainties: allPlaces(input).map(({ id, name, kind }) => ({
      place: name,
      placeKind: kind,
      sensor: uncertainties.get(id)!,
    })),
    zone,
    seed: input.seed,
    settings,
  };
  return rounded({ ...result, working: workingOf(result) });
}

interface Context {
  readonly input: AssessmentInput;
  readonly settings: AssessmentSettings;
  readonly zone: string;
  readonly now: number | null;
  readonly cold: AssessedPlace | null;
  /** by id of the place */
  readonly uncertainties: ReadonlyMap<string, SensorUncertainty>;
  /** by id of the place */
  readonly draws: Map<string, SensorDraws>;
}

function knownZone(zone: string, findings: Finding[]): string {
  if (zoneIsKnown(zone)) return zone;
  findings.push(
    finding('zone-unknown', 'blocks', `The time zone ${zone} is not known, so nights cannot be told from days.`, {
      data: { zone },
      mend: 'Give an IANA name such as Europe/London.',
    }),
  );
  return 'UTC';
}

function coldSideOf(input: AssessmentInput, findings: Finding[]): AssessedPlace | null {
  if (input.outdoor !== null) return input.outdoor;
  if (input.loftAir !== null) {
    findings.push(
      finding(
        'cold-side-is-loft',
        'blocks',
        'Only loft air is known as the cold side: f is loft-referenced and cannot be compared with a published minimum.',
        { place: input.loftAir.name, mend: 'Put a sensor outdoors, in shade and out of the rain.' },
      ),
    );
    return input.loftAir;
  }
  findings.push(
    finding('outdoor-missing', 'blocks', 'There is no outdoor air, so f cannot be worked out.', {
      mend: 'Put a sensor outdoors, in shade and out of the rain.',
    }),
  );
  return null;
}

const allPlaces = (input: AssessmentInput): readonly AssessedPlace[] =>
  [
    input.surface,
    input.room,
    input.outdoor,
    input.loftAir,
    input.loftTimber,
    input.control,
    input.behind,
    ...input.otherSurfaces,
  ].filter((place) => place !== null);

function uncertaintiesOf(input: AssessmentInput, findings: Finding[]): Map<string, SensorUncertainty> {
  const out = new Map<string, SensorUncertainty>();
  const assumed: string[] = [];
  for (const place of allPlaces(input)) {
    out.set(place.id, place.uncertainty ?? assumedUncertainty);
    if (place.uncertainty === null) assumed.push(place.name);
  }
  if (assumed.length > 0) {
    const { temperatureOffsetK, humidityOffsetPct } = assumedUncertainty;
    findings.push(
      finding(
        'uncertainty-assumed',
        'note',
        `Taken as uncalibrated, within ${2 * temperatureOffsetK} K and ${2 * humidityOffsetPct} %: ${assumed.join(', ')}.`,
        {
          data: { temperatureOffsetK, humidityOffsetPct, places: assumed.length, names: assumed.join(', ') },
          mend: 'Run the sensors side by side for a night and enter the result: the intervals become narrower.',
        },
      ),
    );
  }
  return out;
}

function drawsOf(place: AssessedPlace, context: Context): SensorDraws {
  const known = context.draws.get(place.id);
  if (known) return known;
  const { input, settings } = context;
  const draws = sensorDraws(
    context.uncertainties.get(place.id) ?? assumedUncertainty,
    sameSensorInBoth(place, input.before, input.after) ? 'same-sensor' : 'another-sensor',
    settings.resamples,
    input.seed,
    place.id,
  );
  context.draws.set(place.id, draws);
  return draws;
}

/** Where the placement history is not known, one sensor is taken to have stayed; drift covers its re-bonding. */
function sameSensorInBoth(place: AssessedPlace, before: Span | null, after: Span | null): boolean {
  if (before === null || after === null) return true;
  const sensorsIn = (span: Span): readonly string[] =>
    place.stays.filter((stay) => stay.from < span.to && (stay.to ?? span.to) > span.from).map((stay) => stay.sensor);
  const first = sensorsIn(before);
  const second = sensorsIn(after);
  return first.length === 0 || second.length === 0 || first.some((sensor) => second.includes(sensor));
}

const nothing: SensorDraws = {
  before: { temperature: new Float64Array(0), humidity: new Float64Array(0) },
  after: { temperature: new Float64Array(0), humidity: new Float64Array(0) },
};

function wetnessOffsets(context: Context): WetnessOffsets {
  return {
    surface: drawsOf(context.input.surface, context),
    room: drawsOf(context.input.room, context),
    cold: context.cold ? drawsOf(context.cold, context) : nothing,
  };
}

function factorOffsets(surface: AssessedPlace, phase: PhaseName, context: Context): FactorOffsets {
  return {
    surface: drawsOf(surface, context)[phase],
    room: drawsOf(context.input.room, context)[phase],
    cold: drawsOf(context.cold!, context)[phase],
  };
}

interface UsablePhases {
  readonly before: Span | null;
  readonly after: Span | null;
}

function checkPlaces({ input, cold }: Context, phases: UsablePhases, findings: Finding[]): void {
  const both = [input.surface, input.room, cold].filter((place) => place !== null);
  const watched = input.control === null ? both : [...both, input.control];
  const span =
    phases.before && phases.after ? { from: phases.before.from, to: phases.after.to } : (phases.before ?? phases.after);
  checkSeries(watched, span, findings);
  if (span === null) return;
  for (const place of both) {
    const code =
      place === input.surface ? 'surface-missing' : place === input.room ? 'room-missing' : 'outdoor-missing';
    for (const name of ['before', 'after'] as const) {
      const phase = phases[name];
      if (phase === null || hasData(place.hours, phase)) continue;
      findings.push(
        finding(code, 'blocks', `${place.name} has no temperature in the ${name} phase.`, {
          phase: name,
          place: place.name,
          mend: `Check that the sensor or file covers the ${name} phase.`,
        }),
      );
    }
  }
}

function hasData(hours: PlaceHours, span: Span): boolean {
  const from = Math.max(0, Math.floor((span.from - hours.start) / HOUR_MS));
  const to = Math.min(hours.temperature.length, Math.ceil((span.to - hours.start) / HOUR_MS));
  for (let i = from; i < to; i++) if (!Number.isNaN(hours.temperature[i]!)) return true;
  return false;
}

interface MeasuredPhase {
  readonly span: Span;
  readonly hours: PhaseHours;
  readonly conditions: Conditions;
  readonly factor: FactorResult | null;
}

const empty: PlaceHours = {
  start: 0,
  temperature: new Float64Array(0),
  humidity: new Float64Array(0),
  vapourPressure: new Float64Array(0),
  surfaceHumidity: new Float64Array(0),
  margin: new Float64Array(0),
  marginLow: new Float64Array(0),
  timberMoisture: new Float64Array(0),
  co2: new Float64Array(0),
};

function hoursOf(surface: AssessedPlace, span: Span, context: Context): PhaseHours {
  const { input, settings, zone, cold } = context;
  return phaseHours(
    { surface: surface.hours, room: input.room.hours, cold: cold?.hours ?? empty },
    span,
    input.leftOut,
    zone,
    settings,
    settings.riskLimitPct,
  );
}

function measurePhase(
  phase: PhaseName,
  surface: AssessedPlace,
  whole: Span,
  context: Context,
  findings: Finding[],
): MeasuredPhase {
  const { input, settings } = context;
  judgeMoves(phase, whole, context, findings);
  judgeLeftOut(phase, whole, input, findings);
  const span = longestStretch(whole, movesWithin(surface, whole));
  const hours = hoursOf(surface, span, context);
  const conditions = conditionsOf(hours, input.room.hours, input.airChangesPerHour[phase]);
  const factor = factorOf(phase, surface, hours, context);
  findings.push(...judgePhase(phase, hours, conditions, factor, surface.name, settings, context.now));
  return { span, hours, conditions, factor };
}

function factorOf(phase: PhaseName, surface: AssessedPlace, hours: PhaseHours, context: Context): FactorResult | null {
  if (context.cold === null) return null;
  return temperatureFactor(hours, factorOffsets(surface, phase, context), context.settings, context.input.seed, phase);
}

function judgeMoves(phase: PhaseName, span: Span, { input, cold }: Context, findings: Finding[]): void {
  for (const place of [input.surface, input.room, cold]) {
    if (place === null) continue;
    const moves = movesWithin(place, span);
    if (moves.length > 0) {
      const kept = longestStretch(span, moves);
      const hours = Math.round((kept.to - kept.from) / HOUR_MS);
      findings.push(
        finding(
          'sensor-moved',
          'weakens',
          place === input.surface
            ? `The sensor of ${place.name} was moved or changed within the ${phase} phase; only the longest stretch, ${Math.round(hours / 24)} days, counts.`
            : `The sensor of ${place.name} was moved or changed within the ${phase} phase.`,
          {
            phase,
            place: place.name,
            data: { moves: moves.length, longestStretchHours: hours, cutShort: place === input.surface ? 1 : 0 },
            mend: 'Leave the sensors where they are through a phase.',
          },
        ),
      );
    }
    const recalibrated = place.recalibrations.filter((time) => time > span.from && time < span.to);
    if (recalibrated.length > 0) {
      findings.push(
        finding('sensor-recalibrated', 'weakens', `${place.name} was recalibrated within the ${phase} phase.`, {
          phase,
          place: place.name,
          data: { recalibrations: recalibrated.length },
          mend: 'Let the calibration apply to the whole phase if the sensor did not change.',
        }),
      );
    }
  }
}

function judgeLeftOut(phase: PhaseName, span: Span, input: AssessmentInput, findings: Finding[]): void {
  const codes = { works: 'works-inside-phase', 'drying-out': 'drying-out-inside-phase' } as const;
  for (const one of input.leftOut) {
    const hours = Math.round((Math.min(one.to, span.to) - Math.max(one.from, span.from)) / HOUR_MS);
    if (hours <= 0 || one.kind === 'other') continue;
    findings.push(
      finding(
        codes[one.kind],
        'weakens',
        `${one.kind === 'works' ? 'Works' : 'Drying out'} took ${hours} h of the ${phase} phase, which are left out.`,
        {
          phase,
          data: { hoursLeftOut: hours },
          mend: 'Let the phases end before the works and begin after the house has dried.',
        },
      ),
    );
  }
}

function responseOf(before: MeasuredPhase, context: Context): Response | null {
  return fitResponse(
    before.hours,
    before.factor!.lags,
    factorOffsets(context.input.surface, 'before', context),
    context.settings,
    context.input.seed,
    'before',
  );
}

function judgeResponse(
  response: Response | null,
  before: MeasuredPhase | null,
  after: MeasuredPhase | null,
  findings: Finding[],
): void {
  if (response === null || before === null) return;
  const { nmbePct, cvRmsePct, nmbeLimitPct, cvRmseLimitPct } = response.fit;
  if (Math.abs(nmbePct) > nmbeLimitPct || cvRmsePct > cvRmseLimitPct) {
    findings.push(
      finding(
        'model-fits-poorly',
        'weakens',
        `The model of the untreated surface errs by ${fixed(nmbePct, 1)} % on average and ${fixed(cvRmsePct, 0)} % by the hour (limits ${nmbeLimitPct} and ${cvRmseLimitPct} %), so what would have been without the works is less sure.`,
        {
          phase: 'before',
          data: { nmbePct, cvRmsePct, nmbeLimitPct, cvRmseLimitPct },
          mend: 'Log a longer before phase, or find what else warms or cools the surface.',
        },
      ),
    );
  }
  if (after === null) return;
  const [low, high] = response.differenceRange;
  let outside = 0;
  let n = 0;
  for (let i = after.hours.lead; i < after.hours.length; i++) {
    if (after.hours.valid[i] === 0) continue;
    n += 1;
    const own = after.hours.room[i]! - after.hours.cold[i]!;
    if (own > high + 5 || own < low - 5) outside += 1;
  }
  if (n > 0 && outside > 0.1 * n) {
    findings.push(
      finding(
        'model-extrapolates',
        'weakens',
        `In ${Math.round((100 * outside) / n)} % of the after phase the room - cold difference lies more than 5 K outside what the model of the untreated surface was fitted on.`,
        { phase: 'after', data: { outsidePct: (100 * outside) / n, fittedFromK: low, fittedToK: high } },
      ),
    );
  }
}

function judgeHumidity(before: MeasuredPhase | null, after: MeasuredPhase | null, findings: Finding[]): void {
  for (const [phase, measured] of [
    ['before', before],
    ['after', after],
  ] as const) {
    if (measured === null || measured.conditions.validHours === 0) continue;
    if (measured.conditions.roomMeanVapourPressurePa === null) {
      findings.push(
        finding('humidity-missing', 'weakens', `Room humidity is not known in the ${phase} phase: no risk hours.`, {
          phase,
          mend: 'Log the humidity of the room with its temperature.',
        }),
      );
    } else if (measured.conditions.vapourExcessMeanPa === null) {
      findings.push(
        finding(
          'humidity-missing',
          'note',
          `Outdoor humidity is not known in the ${phase} phase: no vapour excess and no causes.`,
          { phase, mend: 'Log the humidity outdoors as well.' },
        ),
      );
    }
  }
}

function judgeOverlap(overlap: number | null, findings: Finding[]): void {
  if (overlap === null || overlap >= 0.5) return;
  findings.push(
    finding(
      'conditions-differ',
      'weakens',
      `Only ${Math.round(100 * overlap)} % of the after phase's hours have a room - cold difference that also occurred before.`,
      {
        data: { overlapPct: 100 * overlap },
        mend: 'Compare phases of the same season.',
      },
    ),
  );
}

function controlResult(
  treated: FactorPair | null,
  phases: UsablePhases,
  context: Context,
  findings: Finding[],
): Control {
  const { input, settings } = context;
  const place = input.control;
  if (place === null) {
    findings.push(
      finding(
        'control-missing',
        'note',
        'No untreated surface was watched beside the treated one, so nothing shows what would have changed anyway.',
        { mend: 'Put a sensor on the flat ceiling or another surface that is not treated.' },
      ),
    );
    return { kind: 'missing' };
  }
  const pair = treated && pairOf(place, phases, context);
  if (!treated || !pair || thin(pair, settings)) {
    findings.push(
      finding('control-too-thin', 'note', `${place.name} has too few nights in both phases to serve as a control.`, {
        place: place.name,
        mend: 'Log it through both phases.',
      }),
    );
    return { kind: 'too-thin', place: place.name };
  }
  const control = controlOf(place.name, treated, pair, settings);
  if (control.kind === 'disagrees') {
    findings.push(
      finding('control-disagrees', 'weakens', control.statement, {
        place: place.name,
        data: {
          treatedChange: control.treatedChange.value,
          controlChange: control.controlChange.value,
          differenceInDifferences: control.differenceInDifferences.value,
        },
        mend: 'Look for what else changed: a moved sensor, other insulation, heating near the surface.',
      }),
    );
  }
  return control;
}

const thin = ({ before, after }: FactorPair, settings: AssessmentSettings): boolean =>
  Math.min(before.working.nights, after.working.nights) < settings.fewestDays;

function pairOf(place: AssessedPlace, phases: UsablePhases, context: Context): FactorPair | null {
  const { before, after } = factorsOf(place, phases, context);
  return before && after ? { before, after } : null;
}

function factorsOf(
  place: AssessedPlace,
  phases: UsablePhases,
  context: Context,
): { before: FactorResult | null; after: FactorResult | null } {
  const factor = (phase: PhaseName): FactorResult | null => {
    const whole = phases[phase];
    if (whole === null) return null;
    const span = longestStretch(whole, movesWithin(place, whole));
    return factorOf(phase, place, hoursOf(place, span, context), context);
  };
  return { before: factor('before'), after: factor('after') };
}

function movedTroubleOf(
  phases: UsablePhases,
  counts: WithoutWorks,
  context: Context,
  findings: Finding[],
): readonly MovedTrouble[] {
  const { input, settings } = context;
  if (phases.after === null) return [];
  const elsewhere: ElsewhereContext = {
    before: phases.before && phaseColumns(phases.before, input.leftOut),
    after: phaseColumns(phases.after, input.leftOut),
    outdoor: input.outdoor,
    settings,
    seed: input.seed,
    now: context.now,
  };
  const moved: MovedTrouble[] = [];
  for (const place of input.otherSurfaces) {
    const factors = factorsOf(place, phases, context);
    const enough = (factor: FactorResult | null): FactorResult | null =>
      factor !== null && factor.working.nights >= settings.fewestDays ? factor : null;
    const known = { before: enough(factors.before), after: enough(factors.after) };
    moved.push(surfaceElsewhere(place, known, input.target, settings));
  }
  if (input.behind !== null) {
    moved.push(behindLining(input.behind, counts.mouldIndex.before?.value ?? null, elsewhere));
  } else {
    findings.push(
      finding(
        'behind-lining-not-watched',
        'note',
        'Nothing was watched behind the lining, where it is colder than before.',
        {
          mend: 'Put a sensor behind the lining, or check the layer another way.',
        },
      ),
    );
  }
  if (input.loftAir !== null && input.outdoor !== null) {
    const offsets = { loft: drawsOf(input.loftAir, context), outdoor: drawsOf(input.outdoor, context) };
    moved.push(loftAir(input.loftAir, offsets, elsewhere));
  }
  if (input.loftTimber !== null) moved.push(loftTimber(input.loftTimber, elsewhere));
  if (input.loftAir === null && input.loftTimber === null) {
    findings.push(
      finding('loft-not-watched', 'note', 'The loft was not watched, so nothing shows whether it got wetter.', {
        mend: 'Put a sensor in the loft, away from the hatch.',
      }),
    );
  }
  return moved;
}

function phaseResult(phase: 'before', measured: MeasuredPhase, findings: readonly Finding[]): BeforeResult;
function phaseResult(phase: 'after', measured: MeasuredPhase, findings: readonly Finding[]): AfterResult;
function phaseResult(
  phase: PhaseName,
  { span, hours, factor }: MeasuredPhase,
  findings: readonly Finding[],
): BeforeResult | AfterResult {
  let n = 0;
  let sum = 0;
  let lowest = Number.POSITIVE_INFINITY;
  for (let i = hours.lead; i < hours.length; i++) {
    const margin = hours.surface[i]! - hours.wetAt[i]!;
    if (hours.valid[i] === 0 || Number.isNaN(margin)) continue;
    n += 1;
    sum += margin;
    if (margin < lowest) lowest = margin;
  }
  const missingBecause: readonly FindingCode[] =
    factor !== null
      ? []
      : [
          ...new Set(
            findings.filter((one) => one.severity === 'blocks' && one.phase !== other(phase)).map((one) => one.code),
          ),
        ];
  return {
    phase,
    from: span.from,
    to: span.to,
    f: factor?.estimate ?? null,
    missingBecause,
    working: factor?.working ?? null,
    convergence: factor?.convergence ?? null,
    meanMarginK: n === 0 ? null : sum / n,
    lowestMarginK: n === 0 ? null : lowest,
  } as BeforeResult | AfterResult;
}

const other = (phase: PhaseName): PhaseName => (phase === 'before' ? 'after' : 'before');

function cumulative(before: PhaseHours | null, after: PhaseHours | null, counts: WithoutWorks): CumulativeRiskHours {
  const first = before && measuredByDay(before);
  const second = after && measuredByDay(after);
  const expected = counts.expectedByDay;
  return {
    before: first && { day: first.day, measured: first.measured },
    after: second && {
      ...second,
      expected: expected && [...expected.expected],
      expectedLow: expected && [...expected.low],
      expectedHigh: expected && [...expected.high],
    },
  };
}

function mouldByDay(before: PhaseHours | null, after: PhaseHours | null, counts: WithoutWorks): MouldIndexByDay {
  const { before: first, after: second, expected } = counts.mouldByDay;
  return {
    before: before && first && { day: calendarDays(before), measured: [...first] },
    after: after &&
      second && {
        day: calendarDays(after),
        measured: [...second],
        expected: expected && [...expected.expected],
        expectedLow: expected && [...expected.low],
        expectedHigh: expected && [...expected.high],
      },
  };
}

/** The local calendar dates of a phase, each as its UTC midnight. */
function calendarDays(hours: PhaseHours): number[] {
  const days = new Set<number>();
  for (let i = hours.lead; i < hours.length; i++) days.add(hours.day[i]!);
  return [...days].map((day) => day * 24 * HOUR_MS);
}

/** Measured risk hours since 1 October at the end of each local day; `day` is the UTC midnight of that calendar date. */
function measuredByDay(hours: PhaseHours): { day: number[]; measured: number[] } {
  const day: number[] = [];
  const measured: number[] = [];
  let sum = 0;
  for (let i = hours.lead; i < hours.length; i++) {
    const own = hours.day[i]! * 24 * HOUR_MS;
    if (day.at(-1) !== own) {
      if (beginsWinter(hours.day[i]!)) sum = 0;
      day.push(own);
      measured.push(sum);
    }
    if (hours.valid[i] === 1 && hours.surface[i]! > 0 && hours.riskAt[i]! - hours.surface[i]! >= -1e-9) sum += 1;
    measured[measured.length - 1] = sum;
  }
  return { day, measured };
}

/** Blocking first, then weakening, then notes; within each as found. */
function inOrder(findings: readonly Finding[]): readonly Finding[] {
  const rank = { blocks: 0, weakens: 1, note: 2 } as const;
  return [...findings].sort((a, b) => rank[a.severity] - rank[b.severity]);
}
