/**
 * The quantities a sensor can report: one name each, its name on the wire and in the database, its unit, and the range
 * outside which a value cannot be a measurement of a home and is set aside.
 *
 * Humidity is relative to liquid water at all temperatures. A value over 100 % and up to 105 % is a sensor's over-read:
 * it is kept as it came, counted as 100 and flagged.
 */
export const quantities = {
  temperature: { wire: 'temperature_c', unit: '°C', low: -60, high: 100 },
  humidity: { wire: 'humidity_pct', unit: '%', low: 0, high: 105 },
  timberMoisture: { wire: 'timber_moisture_pct', unit: '%', low: 0, high: 200 },
  co2: { wire: 'co2_ppm', unit: 'ppm', low: 0, high: 50_000 },
  battery: { wire: 'battery_v', unit: 'V', low: 0, high: 60 },
} as const;

export type Quantity = keyof typeof quantities;

export const quantityNames = Object.keys(quantities) as Quantity[];
