import { humidityClassLimits } from '../../physics/humidity-class.ts';
import type { Assessment, Conditions, SensorUncertainty, Worked, Working } from '../assessment.ts';

type Result = Omit<Assessment, 'working'>;
type Side = 'before' | 'after';

const COMMON = 'arithmetic mean; nothing is resampled, because every hour that is known counts';

/** What else changed: means of the air, humidity class, coverage, and how alike the two phases were. */
export function conditionWorkings(result: Result): readonly Working[] {
  const { before, after, overlap, overlapOf } = result.conditions;
  return [
    ...(before ? sideWorkings('before', before, result) : []),
    ...(after ? sideWorkings('after', after, result) : []),
    ...(overlap === null || overlapOf === null
      ? []
      : [
          {
            figure: 'conditions.overlap',
            formula: 'hours after with a room - cold difference that also occurred before / hours after',
            inputs: [
              { name: 'differences before, the middle 96 %, from', value: overlapOf.fromK, unit: 'K' },
              { name: 'to', value: overlapOf.toK, unit: 'K' },
              { name: 'hours after within them', value: overlapOf.inside, unit: 'h' },
              { name: 'hours after', value: overlapOf.hours, unit: 'h' },
            ],
            uncertainty: 'A count of hours: exact for the readings as they are.',
            source: 'common practice; the middle 96 % leaves out single odd hours',
          },
        ]),
  ];
}

function sideWorkings(side: Side, conditions: Conditions, { uncertainties }: Result): Working[] {
  const sensorOf = (kind: string): SensorUncertainty | null =>
    uncertainties.find(({ placeKind }) => placeKind === kind)?.sensor ?? null;
  const room = sensorOf('room-air');
  const outdoor = sensorOf('outdoor-air') ?? sensorOf('loft-air');
  const hours = { name: 'hours with surface, room and cold side known', value: conditions.validHours, unit: 'h' };
  const mean = (of: string, offset: number | null, unit: string): Worked => ({
    formula: `sum over the hours / hours, of ${of}`,
    inputs: [hours, { name: 'standard uncertainty of the sensor’s offset', value: offset, unit }],
    uncertainty:
      'No chance is in it, for every known hour counts; the offset of the sensor shifts it by up to twice its standard uncertainty in 95 of 100 cases.',
    source: COMMON,
  });
  const out: Working[] = [];
  const add = (name: keyof Conditions, worked: Worked): void => {
    if (conditions[name] !== null) out.push({ figure: `conditions.${side}.${name}`, ...worked });
  };
  add('outdoorMeanC', mean('the temperature of the cold side', outdoor?.temperatureOffsetK ?? null, 'K'));
  add('roomMeanC', mean('the temperature of the room', room?.temperatureOffsetK ?? null, 'K'));
  add('roomMeanHumidityPct', mean('the relative humidity of the room', room?.humidityOffsetPct ?? null, '%'));
  add('vapourExcessMeanPa', {
    formula: 'mean vapour pressure of the room - mean vapour pressure outdoors, over the same hours',
    inputs: [
      { name: 'mean vapour pressure of the room', value: conditions.roomMeanVapourPressurePa, unit: 'Pa' },
      { name: 'mean vapour pressure outdoors', value: conditions.outdoorMeanVapourPressurePa, unit: 'Pa' },
      hours,
    ],
    uncertainty:
      'No chance is in it; offsets of the two humidity sensors shift it, about 23 Pa for each % at 20 °C in the room.',
    source: 'vapour pressure of each hour from paired readings, ISO 13788:2012, Annex E',
  });
  if (conditions.humidityClass !== null && conditions.outdoorMeanC !== null) {
    const limits = humidityClassLimits(conditions.outdoorMeanC);
    add('humidityClass', {
      formula:
        'the lowest class whose upper limit, at this mean temperature outdoors, is not exceeded by the mean vapour excess',
      inputs: [
        { name: 'mean vapour excess', value: conditions.vapourExcessMeanPa, unit: 'Pa' },
        { name: 'mean temperature outdoors', value: conditions.outdoorMeanC, unit: '°C' },
        ...limits.map((limit, i) => ({ name: `upper limit of class ${i + 1}`, value: limit, unit: 'Pa' })),
      ],
      uncertainty: 'A class has no interval; near a limit the next class is as likely.',
      source: 'ISO 13788:2012, Annex A; from memory',
    });
  }
  add('coveragePct', {
    formula: '100 × hours with surface, room and cold side known / hours of the phase',
    inputs: [hours, { name: 'hours of the phase', value: conditions.spanHours, unit: 'h' }],
    uncertainty: 'A count of hours: exact.',
    source: 'an hour counts where its record has enough readings; what is left out counts in neither number',
  });
  return out;
}
