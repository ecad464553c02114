import { type Caution, liningCautions } from '../../analysis/lining-cautions.ts';
import type { ReportKind } from '../../analysis/report-vocabulary.ts';

/** Sentences that are the same in every report. Neutral: they blame nobody. */
export const titles: Readonly<Record<ReportKind, string>> = Object.freeze({
  cause: 'Why a corner is cold and damp',
  works: 'Whether the works helped',
  season: 'How the home came through the season',
});

export const asked: Readonly<Record<ReportKind, string>> = Object.freeze({
  cause:
    'Is the sloping ceiling damp because the surface is cold, because the air of the room holds much moisture, or because the room is little heated?',
  works:
    'Did lining the sloping ceiling make its surface warmer and drier, apart from what weather and living did, and was anything made worse elsewhere?',
  season:
    'How often was each surface damp enough for mould or wet with condensation, and what became of loft and layers out of sight?',
});

/** What no report of this kind can show, whatever it says. */
export const neverShown: Readonly<Record<ReportKind, readonly string[]>> = Object.freeze({
  cause: [
    'Who is to blame. Shares of cause say what would change if the fabric, the moisture or the heating were put right; how a home is lived in depends on what its fabric and heating allow.',
    'Leaks, rising damp and rain: a surface wet from behind is not found by its temperature.',
    'Anything about spots without a sensor.',
  ],
  works: [
    'That mould is gone: conditions were measured, not growth.',
    'Winters still to come: sealing tapes and joints may open later.',
    'Fire performance, cables, and whether the works meet local codes.',
    'Anything about spots without a sensor.',
  ],
  season: [
    'That mould grew or did not grow: conditions were measured, not growth.',
    'Anything about spots without a sensor.',
  ],
});

export const limits: readonly string[] = Object.freeze([
  'A risk hour is an indicator. The standard (ISO 13788) sets its limit of 80 % for monthly means, and materials differ.',
  'The mould index follows published laboratory results on building materials (Hukka & Viitanen 1999 and later). Dirt, paint and drying make real surfaces differ by a stage or more.',
  'Temperature factors of one spot hold for that spot. Corners, edges and fixings are colder.',
  'Low-cost sensors drift. Their uncertainty is stated and carried through; a sensor in the wrong spot is not found by any calculation.',
  'Expected figures without the works come from a model of the untreated surface fitted to the time before; the closer the weather after was to that before, the better it holds.',
]);

/** About cleaning and about the report itself, before those about lining. */
export const cautions: readonly Caution[] = Object.freeze([
  {
    code: 'no-advice',
    message:
      'This report indicates, it does not certify. It is neither medical nor legal advice. Local codes and licensed practice decide.',
  },
  ...liningCautions.filter(({ code }) => code !== 'indicates-only'),
]);

export const privacy =
  'When a home is heated, aired and slept in can be read from temperature and humidity. Hand this on only to those who need it.';

export const glossary: readonly (readonly [string, string])[] = Object.freeze([
  ['Dew point', 'The temperature at which the air’s moisture begins to settle as water.'],
  [
    'Dew-point margin',
    'Surface temperature less the dew point of the room’s air, in kelvin (K). At or below 0 the surface gets wet.',
  ],
  [
    'Surface humidity',
    'The relative humidity of the room’s air where it touches the surface, in %. Mould can grow from about 80 % on.',
  ],
  [
    'Temperature factor f',
    'How much of the warmth of the room reaches the surface: (surface − cold side) / (room − cold side). 1 is as warm as the room, 0 as cold as outdoors. It does not depend on the weather.',
  ],
  ['Risk hour', 'An hour with a surface humidity of at least 80 % and the surface above 0 °C.'],
  ['Condensation night', 'A local night (18:00 to 08:00) with at least one hour of dew-point margin at or below 0.'],
  [
    'Mould index',
    'A figure from 0 (nothing) to 6 (all over) that a published model works out from temperature and humidity. From 3 on growth would be seen.',
  ],
  ['Vapour excess', 'How much more water vapour the air of a room holds than outdoor air, in pascal (Pa).'],
  [
    '95 % interval',
    'The figures in brackets: measured many times over, the truth would lie within in 95 of 100 cases.',
  ],
  ['Control surface', 'A like surface that was not treated. What changed there too was not the works.'],
]);
