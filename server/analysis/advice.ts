import { RISK_HUMIDITY } from '../physics/hours-over.ts';
import { surfaceTemperatureWanted } from '../physics/surface-wanted.ts';
import { TIMBER_MOISTURE_LIMIT } from '../physics/timber.ts';
import { assessmentSettings } from './assessment-settings.ts';
import { type Caution, liningCautions } from './lining-cautions.ts';
import type { Figure, PlaceNow } from './now.ts';
import { fixed } from './say.ts';
import { isSurface } from './vocabulary.ts';

/** What to do, and the figures that say so; the unit is in each name. */
export type AdviceFacts =
  | { readonly code: 'wipe'; readonly data: { readonly place: string } }
  | {
      readonly code: 'ventilate';
      /** how much more vapour the room holds than outdoors; null: outdoors is not measured */
      readonly data: { readonly room: string; readonly excessPa: number | null };
    }
  | {
      readonly code: 'open-door';
      readonly data: { readonly room: string; readonly otherRoom: string; readonly warmerByK: number };
    }
  | {
      readonly code: 'heat';
      /** how much warmer the surface would have to be to keep under the risk limit, K; 0: it keeps under it now */
      readonly data: {
        readonly room: string;
        readonly roomTemperatureC: number;
        readonly place: string;
        readonly shortOfK: number;
      };
    }
  | {
      readonly code: 'check-eaves';
      readonly data:
        | { readonly because: 'loft-air'; readonly place: string; readonly excessPa: number }
        | { readonly because: 'timber'; readonly place: string; readonly timberMoisturePct: number };
    }
  | { readonly code: 'check-lining'; readonly data: { readonly place: string; readonly humidityPct: number } }
  | { readonly code: 'check-sensors'; readonly data: { readonly places: string; readonly count: number } };

export const adviceCodes = [
  'wipe',
  'ventilate',
  'open-door',
  'heat',
  'check-eaves',
  'check-lining',
  'check-sensors',
] as const satisfies readonly AdviceFacts['code'][];

export type AdviceCode = AdviceFacts['code'];

export type Advice = AdviceFacts & {
  /** act: now; watch: it can wait, and should not be forgotten */
  readonly tone: 'act' | 'watch';
  /** the place it is about; null: several */
  readonly placeId: number | null;
  /** plain sentences in English */
  readonly message: string;
  readonly cautions: readonly Caution[];
};

export const adviceSettings = Object.freeze({
  /**
   * a room cooler than this is to be heated, °C. @source WHO Housing and health guidelines (2018), chapter 4: 18 °C as
   * a safe indoor temperature in the cold season, from memory
   */
  heatedToC: assessmentSettings.heatedToC,
  /** another room warms a cool one through an open door when it is this much warmer, K; common practice, no source */
  doorWarmerByK: 1.5,
  /** loft air this much moister than outdoors while it is damp is not aired enough, Pa; common practice, no source */
  loftExcessPa: 100,
  /** the loft's air is damp from here on, % */
  loftDampPct: RISK_HUMIDITY,
});

type Settings = typeof adviceSettings;

const troubled: ReadonlySet<PlaceNow['state']['code']> = new Set(['close', 'risk', 'condensing']);
const unheard: ReadonlySet<PlaceNow['state']['code']> = new Set(['stale', 'no-reading']);

/**
 * What to do about the state of a dwelling, the most pressing first; nothing where nothing is to be done. Wiping comes
 * where water is on a surface; airing where it would carry moisture away beyond the sensors' doubt; a door to a warmer
 * room that is no moister; heating where the room is cool or airing cannot help.
 *
 * @param places every place at a moment
 * @param coming surfaces that are likely to be damp in the night to come
 */
export function adviceOn(
  places: readonly PlaceNow[],
  coming: ReadonlySet<number> = new Set(),
  settings: Settings = adviceSettings,
): Advice[] {
  const surfaces = places.filter(
    ({ kind, placeId, state }) => isSurface(kind) && (troubled.has(state.code) || coming.has(placeId)),
  );
  const wet = surfaces.filter(({ state }) => state.code === 'condensing');
  const toneOf = (about: readonly PlaceNow[]): Advice['tone'] =>
    about.some(({ state }) => state.tone === 'act') ? 'act' : 'watch';
  const rooms = places.filter(({ kind }) => kind === 'room-air');
  const silent = places.filter(({ state }) => unheard.has(state.code));
  return [
    ...wet.map((place) => advice({ code: 'wipe', data: { place: place.name } }, 'act', place)),
    ...rooms.flatMap((room) => {
      const own = surfaces.filter(({ airPlaceId }) => airPlaceId === room.placeId);
      return own.length === 0 ? [] : onRoom(room, own, rooms, toneOf(own), places, settings);
    }),
    ...places.flatMap((place) => outOfSight(place, settings)),
    ...(silent.length === 0
      ? []
      : [
          advice(
            {
              code: 'check-sensors',
              data: { places: silent.map(({ name }) => name).join(', '), count: silent.length },
            },
            'watch',
            silent.length === 1 ? silent[0]! : null,
          ),
        ]),
  ];
}

/** A figure is beyond doubt over a limit when the low end of its interval is. */
const lowEnd = ({ value, plusMinus }: Figure): number => value - (plusMinus ?? 0);

function onRoom(
  room: PlaceNow,
  surfaces: readonly PlaceNow[],
  rooms: readonly PlaceNow[],
  tone: Advice['tone'],
  places: readonly PlaceNow[],
  settings: Settings,
): Advice[] {
  const found: Advice[] = [];
  const outdoorsKnown = places.some(({ kind, vapourPressure }) => kind === 'outdoor-air' && vapourPressure !== null);
  const excess = room.vapourExcess;
  const airingHelps = excess === null ? !outdoorsKnown : lowEnd(excess) > 0;
  if (airingHelps) {
    found.push(advice({ code: 'ventilate', data: { room: room.name, excessPa: excess?.value ?? null } }, tone, room));
  }
  const { temperature, vapourPressure } = room;
  if (temperature === null || vapourPressure === null) return found;
  const cool = temperature.value < settings.heatedToC;
  const warmer = rooms
    .flatMap((other) =>
      other.temperature === null || other.vapourPressure === null || other.placeId === room.placeId
        ? []
        : [{ other, byK: other.temperature.value - temperature.value, pressure: other.vapourPressure.value }],
    )
    .filter(({ byK, pressure }) => byK >= settings.doorWarmerByK && pressure <= vapourPressure.value)
    .sort((a, b) => b.byK - a.byK)[0];
  if (warmer !== undefined) {
    const data = { room: room.name, otherRoom: warmer.other.name, warmerByK: warmer.byK };
    found.push(advice({ code: 'open-door', data }, tone, room));
  }
  const coldest = surfaces
    .flatMap((place) => (place.temperature === null ? [] : [{ place, at: place.temperature.value }]))
    .sort((a, b) => a.at - b.at)[0];
  if (coldest !== undefined && (cool || !airingHelps)) {
    const wanted = surfaceTemperatureWanted(vapourPressure.value, RISK_HUMIDITY);
    const data = {
      room: room.name,
      roomTemperatureC: temperature.value,
      place: coldest.place.name,
      shortOfK: Math.max(0, wanted - coldest.at),
    };
    found.push(advice({ code: 'heat', data }, tone, room));
  }
  return found;
}

/** Advice about what nobody sees: behind the lining and in the loft. */
function outOfSight(place: PlaceNow, settings: Settings): Advice[] {
  const { kind, state, humidity, vapourExcess, timberMoisture, name } = place;
  if (kind === 'behind-lining' && state.code === 'damp' && place.surfaceHumidity !== null) {
    const data = { place: name, humidityPct: place.surfaceHumidity.value };
    return [advice({ code: 'check-lining', data }, 'watch', place)];
  }
  if (kind === 'loft-timber' && state.code === 'wet' && timberMoisture !== null) {
    const data = { because: 'timber' as const, place: name, timberMoisturePct: timberMoisture.value };
    return [advice({ code: 'check-eaves', data }, 'act', place)];
  }
  const damp = humidity !== null && humidity.value >= settings.loftDampPct;
  if (kind === 'loft-air' && damp && vapourExcess !== null && lowEnd(vapourExcess) > settings.loftExcessPa) {
    const data = { because: 'loft-air' as const, place: name, excessPa: vapourExcess.value };
    return [advice({ code: 'check-eaves', data }, 'watch', place)];
  }
  return [];
}

const advice = (facts: AdviceFacts, tone: Advice['tone'], place: PlaceNow | null): Advice => ({
  ...facts,
  tone,
  placeId: place?.placeId ?? null,
  message: adviceMessage(facts),
  cautions: cautionsOf[facts.code],
});

/** The one place where advice is put into English sentences. */
export function adviceMessage({ code, data }: AdviceFacts): string {
  switch (code) {
    case 'wipe':
      return `Wipe ${data.place} dry and wring the cloth out over a drain, so that the water does not go back into the air.`;
    case 'ventilate':
      return data.excessPa === null
        ? `Open the windows wide for ten minutes, then close them (${data.room}). Outdoor air is not measured here; in cold weather it is nearly always the drier.`
        : `Open the windows wide for ten minutes, then close them (${data.room}). Outdoor air holds ${fixed(data.excessPa, 0)} Pa less water vapour.`;
    case 'open-door':
      return `Leave the door open between ${data.room} and ${data.otherRoom}: it is ${fixed(data.warmerByK, 1)} K warmer there and no moister.`;
    case 'heat':
      return data.shortOfK > 0
        ? `Heat steadily (${data.room}, now ${fixed(data.roomTemperatureC, 1)} °C): ${data.place} lacks ${fixed(data.shortOfK, 1)} K of being warm enough for the moisture in the air.`
        : `Heat steadily through the night (${data.room}, now ${fixed(data.roomTemperatureC, 1)} °C): ${data.place} follows it.`;
    case 'check-eaves':
      return data.because === 'timber'
        ? `Look at the loft: ${data.place} holds ${fixed(data.timberMoisturePct, 1)} % of moisture, over ${TIMBER_MOISTURE_LIMIT} %. Check for leaks, and that the air gap at the eaves is open along its whole length.`
        : `Check that the air gap at the eaves is open along its whole length: ${data.place} is damp and holds ${fixed(data.excessPa, 0)} Pa more water vapour than outdoors. Room air may also leak in, round the hatch or lamps.`;
    case 'check-lining':
      return `Keep an eye on ${data.place}: ${fixed(data.humidityPct, 0)} % there. A damp night is no fault; if it stays so for weeks, check that joints, edges and fixings on the room side are sealed.`;
    case 'check-sensors':
      return data.count === 1
        ? `See to the sensor at ${data.places}: nothing was heard from it lately, and what is not measured cannot be judged.`
        : `See to the sensors at these places: ${data.places}. Nothing was heard from them lately, and what is not measured cannot be judged.`;
  }
}

const lining = (code: string): Caution[] => liningCautions.filter((caution) => caution.code === code);

const mouldCleaning: Caution = {
  code: 'mould-cleaning',
  message:
    'Where there is mould: protect lungs, skin and eyes. Large or returning growth, or ill or vulnerable people in the home: ask a professional.',
};
const unfluedHeater: Caution = {
  code: 'unflued-heater',
  message: 'Not with a gas or paraffin heater that has no flue: it gives off water and can give off carbon monoxide.',
};
const loftWork: Caution = {
  code: 'loft-work',
  message: 'In the loft: lay boards, bring light, mind heat and falls.',
};

/** Cautions that belong to each piece of advice. */
export const cautionsOf: Readonly<Record<AdviceCode, readonly Caution[]>> = Object.freeze({
  wipe: [mouldCleaning],
  ventilate: [],
  'open-door': [],
  heat: [unfluedHeater],
  'check-eaves': [...lining('eaves-gap'), loftWork],
  'check-lining': lining('vapour-control'),
  'check-sensors': [],
});
