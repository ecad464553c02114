import type { Worked } from '../assessment.ts';

/** How figures of places away from the treated surface were worked out. */

const CALENDAR = 'UTC days with at least half of their hours';

export const meanOfDaysWorked = (what: string, unit: string, days: number, mean: number, source: string): Worked => ({
  formula: `sum of the daily means of ${what} / days`,
  inputs: [
    { name: 'days with data', value: days, unit: 'd' },
    { name: 'sum of the daily means', value: days * mean, unit: `${unit} d` },
    { name: 'a day', value: CALENDAR, unit: '' },
  ],
  uncertainty:
    'The interval holds the middle 95 % of the draws: whole days resampled in blocks, and sensor offsets where they do not cancel.',
  source,
});

export const daysOverWorked = (limit: number, days: number): Worked => ({
  formula: 'number of days whose mean timber moisture is over the limit',
  inputs: [
    { name: 'limit', value: limit, unit: '%' },
    { name: 'days with data', value: days, unit: 'd' },
    { name: 'a day', value: CALENDAR, unit: '' },
  ],
  uncertainty: 'A count: exact for the readings as they are.',
  source: 'timber at a lasting 20 % and more can decay; common practice, from memory',
});

export const highestIndexWorked = (sensitivity: string, hours: number): Worked => ({
  formula:
    'highest value of the mould index, which grows hour by hour while the place’s own air is over the growth limit and declines while it is under; it starts from 0',
  inputs: [
    { name: 'class of the material', value: sensitivity, unit: '' },
    { name: 'hours with temperature and humidity', value: hours, unit: 'h' },
  ],
  uncertainty:
    'None is given beside it: it is what the readings as they are lead to. One class of material up or down changes it more than the sensor does.',
  source: 'Hukka & Viitanen (1999); Viitanen & Ojanen (2007); classes: Ojanen et al. (2010)',
});

export const oldSurfaceIndexWorked: Worked = {
  formula: 'highest mould index of the ceiling surface before the works: the old surface faced the room then',
  inputs: [{ name: 'figure taken from', value: 'mould index, highest, before', unit: '' }],
  uncertainty: 'Its interval stands beside the figure it is taken from.',
  source: 'Hukka & Viitanen (1999); Viitanen & Ojanen (2007); classes: Ojanen et al. (2010)',
};

export const estimatedTimberWorked = (hours: number): Worked => ({
  formula:
    'mean of the moisture content that softwood takes on in the air of the place, lagging it as 10 mm of wood do',
  inputs: [{ name: 'hours with temperature and humidity', value: hours, unit: 'h' }],
  uncertainty: 'None is given beside it: an estimate from the air alone, good to about 2 % of dry mass (from memory).',
  source: 'USDA Wood Handbook (2010), equation 4-5; diffusivity from memory',
});
