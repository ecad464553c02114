import type { ShortReason, ShortReasonCode } from './tonight-forecast.ts';

/** What is missing for a forecast, and what to do, in a sentence each. */
const words: Readonly<Record<ShortReasonCode, (data: ShortReason['data']) => string>> = {
  'room-missing': () => 'There is no room air to judge this surface by: add the room and stand a sensor in it.',
  'humidity-missing': ({ hours }) =>
    `The room’s humidity has not been heard for ${hours} hours: without it the dew point is not known.`,
  'cold-side-missing': () =>
    'Nothing is measured on the cold side: add a sensor outdoors, in the shade, or at least in the loft.',
  'surface-silent': ({ hours }) =>
    `The surface’s sensor has said nothing for ${hours} hours: see to its battery or radio.`,
  'room-silent': ({ hours }) => `The room’s sensor has said nothing for ${hours} hours: see to its battery or radio.`,
  'cold-side-silent': ({ hours }) =>
    `The sensor on the cold side has said nothing for ${hours} hours: see to its battery or radio.`,
  'few-nights': ({ nights, nightsWanted }) =>
    `Only ${nights} of the last nights are known since the ceiling became as it is; it takes ${nightsWanted} to know how wrong a forecast can be.`,
  'no-response': ({ nightsWanted }) =>
    `How the surface follows the air on both sides cannot be told yet: it takes about ${nightsWanted} nights with all three sensors heard.`,
};

export const reasonWords = ({ code, data }: ShortReason): string => words[code](data);
