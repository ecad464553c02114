/**
 * Lowest temperature factors asked for by published guidance, at the coldest point of the inner surface, windows
 * excluded. They are for f with outdoor air as the cold side only.
 *
 * `status` says how the figure reached us: `read` in a text that quotes the source, or `from memory`.
 */
export interface PublishedFactor {
  readonly id: string;
  readonly where: string;
  readonly factor: number;
  readonly source: string;
  readonly status: 'read' | 'from memory';
}

const rows: readonly PublishedFactor[] = [
  {
    id: 'uk-dwellings',
    where: 'United Kingdom: dwellings, residential buildings, schools',
    factor: 0.75,
    source: 'BRE IP 1/06',
    status: 'read',
  },
  {
    id: 'uk-offices-shops',
    where: 'United Kingdom: offices, shops',
    factor: 0.5,
    source: 'BRE IP 1/06',
    status: 'from memory',
  },
  {
    id: 'uk-sports-halls-kitchens',
    where: 'United Kingdom: sports halls, kitchens, canteens, rooms with unflued gas heaters',
    factor: 0.8,
    source: 'BRE IP 1/06',
    status: 'from memory',
  },
  {
    id: 'uk-pools-laundries',
    where: 'United Kingdom: swimming pools, laundries, breweries',
    factor: 0.9,
    source: 'BRE IP 1/06',
    status: 'from memory',
  },
  { id: 'uk-storage', where: 'United Kingdom: storage', factor: 0.3, source: 'BRE IP 1/06', status: 'from memory' },
  {
    id: 'germany',
    where: 'Germany: dwellings and similar use, 20 °C and 50 % indoors, -5 °C outdoors',
    factor: 0.7,
    source: 'DIN 4108-2',
    status: 'read',
  },
  {
    id: 'netherlands-dwellings',
    where: 'Netherlands: dwellings',
    factor: 0.65,
    source: 'Dutch building decree (Bouwbesluit)',
    status: 'from memory',
  },
  {
    id: 'netherlands-other',
    where: 'Netherlands: other uses',
    factor: 0.5,
    source: 'Dutch building decree (Bouwbesluit)',
    status: 'from memory',
  },
  {
    id: 'belgium',
    where: 'Belgium: building nodes',
    factor: 0.7,
    source: 'Belgian practice for building nodes',
    status: 'from memory',
  },
  { id: 'switzerland', where: 'Switzerland', factor: 0.75, source: 'SIA 180', status: 'from memory' },
];

export const publishedFactors: readonly PublishedFactor[] = Object.freeze(rows.map((row) => Object.freeze(row)));

/** The figure used unless another is chosen: dwellings, 0.75. */
export const defaultPublishedFactor: PublishedFactor = publishedFactors[0]!;
