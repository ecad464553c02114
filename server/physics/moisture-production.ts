/**
 * Typical moisture made in dwellings, as ranges from published tables. They guide a guess; they measure nothing.
 *
 * `read`: seen in a text that prints or quotes the source. `from memory`: not seen again.
 */
export interface MoistureProduction {
  readonly id: string;
  readonly what: string;
  readonly low: number;
  readonly high: number;
  readonly unit: 'g/h' | 'g' | 'kg/day';
  /** what one of the unit is counted for */
  readonly each: string;
  readonly source: string;
  readonly status: 'read' | 'from memory';
}

const SOLAR_HOUSING = 'handbook of an IEA solar-housing task, table 10.1.1';
const BS_5250 = 'BS 5250:2002, table of households (dry to wet occupancy)';

const household = (people: number, dry: number, wet: number, status: MoistureProduction['status']) =>
  ({
    id: `household-of-${people}`,
    what: `household of ${people}`,
    low: dry,
    high: wet,
    unit: 'kg/day',
    each: 'dwelling',
    source: BS_5250,
    status,
  }) as const;

const rows: readonly MoistureProduction[] = [
  {
    id: 'person-resting',
    what: 'person at rest',
    low: 40,
    high: 60,
    unit: 'g/h',
    each: 'person',
    source: SOLAR_HOUSING,
    status: 'read',
  },
  {
    id: 'person-active',
    what: 'person about the house',
    low: 60,
    high: 120,
    unit: 'g/h',
    each: 'person',
    source: SOLAR_HOUSING,
    status: 'read',
  },
  {
    id: 'person-working',
    what: 'person at hard work',
    low: 120,
    high: 200,
    unit: 'g/h',
    each: 'person',
    source: SOLAR_HOUSING,
    status: 'read',
  },
  { id: 'bath', what: 'bath', low: 700, high: 700, unit: 'g/h', each: 'bath', source: SOLAR_HOUSING, status: 'read' },
  {
    id: 'shower',
    what: 'shower',
    low: 2500,
    high: 2500,
    unit: 'g/h',
    each: 'shower while it runs',
    source: SOLAR_HOUSING,
    status: 'read',
  },
  {
    id: 'cooking',
    what: 'cooking',
    low: 600,
    high: 1500,
    unit: 'g/h',
    each: 'kitchen while cooking',
    source: SOLAR_HOUSING,
    status: 'read',
  },
  {
    id: 'laundry-spun',
    what: 'spun laundry of 4.5 kg drying indoors',
    low: 50,
    high: 200,
    unit: 'g/h',
    each: 'load',
    source: SOLAR_HOUSING,
    status: 'read',
  },
  {
    id: 'laundry-dripping',
    what: 'dripping laundry of 4.5 kg drying indoors',
    low: 100,
    high: 500,
    unit: 'g/h',
    each: 'load',
    source: SOLAR_HOUSING,
    status: 'read',
  },
  {
    id: 'pot-plant',
    what: 'pot plant',
    low: 7,
    high: 15,
    unit: 'g/h',
    each: 'plant',
    source: SOLAR_HOUSING,
    status: 'read',
  },
  {
    id: 'laundry-load',
    what: 'load of laundry in an unvented dryer',
    low: 5000,
    high: 5000,
    unit: 'g',
    each: 'load',
    source: 'New Zealand metal roofing code of practice, 10.8.1',
    status: 'read',
  },
  {
    id: 'gas-heater',
    what: 'unflued gas heater',
    low: 1600,
    high: 1600,
    unit: 'g',
    each: 'kg of gas',
    source: 'New Zealand metal roofing code of practice, 10.8.1',
    status: 'read',
  },
  household(1, 3.5, 9, 'from memory'),
  household(2, 4, 11, 'from memory'),
  household(3, 4, 12, 'from memory'),
  household(4, 5, 14, 'from memory'),
  household(5, 6, 15, 'from memory'),
  household(6, 7, 16, 'from memory'),
];

export const moistureProduction: readonly MoistureProduction[] = Object.freeze(rows.map((row) => Object.freeze(row)));
