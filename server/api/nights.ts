import type { Span } from '../analysis/assessment.ts';
import { applying, inUse } from '../analysis/calibration.ts';
import {
  matchedNights,
  matchedNightsSettings,
  type NightlyPlace,
  notEnoughNights,
  type TypicalPhase,
} from '../analysis/matched-nights.ts';
import { nightFromNoonOf, nightSpan, type PlayedPlace, playedColumns, playHours } from '../analysis/night.ts';
import { figureNames } from '../analysis/now.ts';
import { sensorErrors } from '../analysis/sensor-errors.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { Quantity } from '../physics/quantities.ts';
import type { ErrorPart } from '../physics/uncertainty.ts';
import { usualPhases } from '../store/assessment-reader.ts';
import type { CalibrationRecord, Dwelling, Phase, Place, Placement, Sensor, Series, Store } from '../store/port.ts';
import type { MatchedNights as Matched, Night } from './contract/played-night.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

export function nightHandlers(parts: {
  readonly store: Store;
  readonly clock: () => number;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
}): Pick<Handlers, 'getNight' | 'getMatchedNights'> {
  return {
    async getNight({ params }) {
      return readNight(parts.store, await parts.dwellingOf(params), params.night, parts.clock());
    },

    async getMatchedNights({ params }) {
      return readMatched(parts.store, await parts.dwellingOf(params), parts.clock());
    },
  };
}

interface SensorRows {
  readonly placements: readonly Placement[];
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly calibrations: readonly CalibrationRecord[];
}

async function readNight(store: Store, dwelling: Dwelling, wanted: string, now: number): Promise<Night> {
  const known = await store.hourSpan(dwelling.id);
  const lastNight = known && nightFromNoonOf(known.last, dwelling.zone);
  const chosen = wanted === 'last' ? (lastNight ?? nightFromNoonOf(now, dwelling.zone)) : wanted;
  const span = spanOf(chosen, dwelling.zone);
  const [places, placements, sensors, series, calibrations] = await Promise.all([
    store.places(dwelling.id),
    store.placements(dwelling.id),
    store.sensors(dwelling.id),
    store.series(dwelling.id),
    store.calibrations(dwelling.id),
  ]);
  const rows = { placements, sensors, series, calibrations };
  const played = await Promise.all(
    places.map(async (place): Promise<PlayedPlace> => {
      const columns = await store.hourColumns(dwelling.id, place.id, span.from, span.to, playedColumns);
      return {
        placeId: place.id,
        name: place.name,
        kind: place.kind,
        facesPlaceId: place.facesPlaceId,
        columns,
        errors: errorsAt(place, rows, span.from, span.to),
      };
    }),
  );
  const hours = (span.to - span.from) / HOUR_MS;
  const moments = playHours(played, span.from, hours);
  return {
    night: span.night,
    start: toInstant(span.from),
    hours,
    nightFrom: toInstant(span.nightFrom),
    nightTo: toInstant(span.nightTo),
    firstNight: known && nightFromNoonOf(known.first, dwelling.zone),
    lastNight,
    headlines: moments.map(({ headline, headlineAbout, detail }) => ({ headline, headlineAbout, detail })),
    places: places.map(({ id, name, kind, position }, k) => {
      const own = moments.map((moment) => moment.places[k]!);
      return {
        placeId: id,
        name,
        kind,
        airPlaceId: own[0]!.airPlaceId,
        position,
        states: own.map(({ state }) => state),
        figures: Object.fromEntries(
          figureNames.map((figure) => [
            figure,
            {
              values: own.map((place) => place[figure]?.value ?? null),
              plusMinus: own.map((place) => place[figure]?.plusMinus ?? null),
            },
          ]),
        ) as Night['places'][number]['figures'],
      };
    }),
  };
}

async function readMatched(store: Store, dwelling: Dwelling, now: number): Promise<Matched> {
  const [places, phases, known] = await Promise.all([
    store.places(dwelling.id),
    store.phases(dwelling.id),
    store.hourSpan(dwelling.id),
  ]);
  const { before, after } = usualPhases(phases);
  const spanOfPhase = (phase: Phase): Span => ({ from: phase.from, to: phase.to ?? now });
  const [from, to] = known === null ? [0, 0] : [known.first, known.last + HOUR_MS];
  const found = matchedNights({
    start: from,
    places: await Promise.all(
      places.map(async ({ id, kind }): Promise<NightlyPlace> => {
        const columns = await store.hourColumns(dwelling.id, id, from, to, [...playedColumns, 'marginMin']);
        return { placeId: id, kind, columns, marginLow: columns.marginMin };
      }),
    ),
    before: before && spanOfPhase(before),
    after: after && spanOfPhase(after),
    leftOut: phases.filter(({ kind }) => kind !== 'before' && kind !== 'after').map(spanOfPhase),
    zone: dwelling.zone,
  });
  const settings = { ...matchedNightsSettings };
  if (found.kind === 'not-enough') return { kind: found.kind, message: notEnoughNights(found), settings };
  const phaseView = ({ outdoorMeanC, places: typical }: TypicalPhase) => ({
    outdoorMeanC,
    places: typical.map((place, k) => {
      const { name, kind, position } = places[k]!;
      return { ...place, name, kind, position };
    }),
  });
  return {
    kind: 'matched',
    pairs: found.pairs,
    before: phaseView(found.before),
    after: phaseView(found.after),
    settings,
  };
}

function spanOf(night: string, zone: string) {
  try {
    return nightSpan(night, zone);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new RequestProblem('bad-request', error.message, [{ pointer: '/night', detail: 'not a date' }]);
  }
}

/** What the sensor that stood at a place last in a span may have been wrong by, with the calibration of that time. */
function errorsAt(place: Place, rows: SensorRows, from: number, to: number): PlayedPlace['errors'] {
  const errorsOf = (quantity: Quantity): readonly ErrorPart[] => {
    const stays = rows.placements
      .filter((stay) => stay.placeId === place.id && stay.from < to && (stay.to === null || stay.to > from))
      .sort((a, b) => b.from - a.from);
    for (const { sensorId } of stays) {
      const sensor = rows.sensors.find(({ id }) => id === sensorId);
      const own = rows.series.find((series) => series.sensorId === sensorId && series.quantity === quantity);
      if (!sensor || !own) continue;
      return sensorErrors(sensor, quantity, applying(inUse(rows.calibrations, own.id), to));
    }
    return [];
  };
  return {
    temperature: errorsOf('temperature'),
    humidity: errorsOf('humidity'),
    timberMoisture: errorsOf('timberMoisture'),
  };
}
