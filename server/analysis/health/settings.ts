import { HOUR_MS } from '../vocabulary.ts';

const DAY_MS = 24 * HOUR_MS;

/**
 * Where a rule about a sensor begins to speak. One frozen object, handed to every rule and echoed beside its findings.
 * Unless a line names a source it is common practice, no source: chosen so that what real roofs and rooms did in measured
 * winters lies inside, and what a fault does lies outside.
 */
export const healthSettings = Object.freeze({
  /** how far back the rules look, ms */
  windowMs: 14 * DAY_MS,

  /** a pause this long is told, ms; pauses of a few hours are what a home's radio does */
  gapMs: 12 * HOUR_MS,
  /** share of the expected readings that may be missing, and the least of the window that must have been watched, ms */
  missingShare: 0.15,
  missingWatchedMs: 2 * DAY_MS,

  /** a sensor of several quantities whose every value stays the same for so long, ms, and so many readings. Saturated
   * humidity says nothing: in fog both stood still for six hours in a measured autumn */
  flatAllMs: 8 * HOUR_MS,
  flatReadings: 6,
  /** a sensor of temperature alone, whose steps are coarse and whose ceiling may be steady, ms */
  flatAloneMs: 36 * HOUR_MS,
  /** humidity that stays the same for so long while the temperature moves by so much, ms and K */
  flatHumidityMs: 60 * HOUR_MS,
  flatHumidityTemperatureK: 3,

  /** a single temperature reading this far from both its neighbours, which agree to a third of it, K */
  spikeK: 10,
  /** most of all readings that can be called single ones */
  spikeShare: 0.1,
  /** neighbours further away in time than this say nothing, ms */
  spikeNeighbourMs: 2 * HOUR_MS,
  /** value in the register of a DS18B20 after power-on, °C. Source: its data sheet, table of temperatures */
  powerOnC: 85,
  /** a place that truly was that hot has other readings within so much of it, K */
  powerOnCompanyK: 20,

  /** a step that lasts, between readings not further apart than this, K and ms; air and surfaces of a home do not do that */
  jumpK: 15,
  jumpMs: HOUR_MS,
  /** readings on each side that must agree with their own side */
  jumpHolds: 3,

  /** humidity from here on counts as saturated, % */
  saturatedPct: 99.5,
  /** and from here on where it is corrected and does not change at all, % */
  saturatedCorrectedPct: 95,
  /** for how long air may be saturated before the element is doubted, ms: rooms; lofts and linings; outdoors in fog */
  saturatedRoomMs: 6 * HOUR_MS,
  saturatedLoftMs: 30 * HOUR_MS,
  saturatedOutdoorMs: 72 * HOUR_MS,
  /** a surface that the room's vapour brings to this may well be wet, % */
  dampSurfacePct: 85,

  /** over this a humidity element shows more than there can be, %: its own resolution and rounding lie below */
  overFullPct: 100.5,
  overFullReadings: 3,
  /** what a wetted element may go on reading too high, %. Source: SHT4x data sheet, after days over 80 % */
  wettedExtraPct: 3,

  /** deviation in step with the reports, K, seen in so large a share of so many periods */
  selfHeatingK: 0.3,
  selfHeatingShare: 0.8,
  selfHeatingPeriods: 48,
  /** readings a period, at least */
  selfHeatingReadings: 3,

  /** newest own time stamp against arrival: off by this, in so many hours of watching, ms. Ten minutes ahead is refused at the door */
  clockSkewMs: 2 * 60_000,
  clockHours: 6,
  /** drift, seconds a day; a cheap crystal of 20 ppm makes 1.7 */
  clockDriftSecondsPerDay: 10,
  clockDriftHours: 72,

  /** alternating levels: the step from one reading to the next against that to the next but one, and its size, K */
  twoLevelRatio: 4,
  twoLevelK: 1,
  twoLevelReadings: 24,
  conflicts: 3,

  /** swapped: hours with the cold side this far below the room, at least so many, warm in so large a share of them */
  swappedDifferenceK: 5,
  swappedHours: 5 * 24,
  swappedShare: 0.9,
  /** warmer by this counts as warmer, K: twice the offset of a good sensor */
  swappedK: 0.6,

  /** a day's median over this, °C, is no room or surface, no loft, no outdoor air */
  fahrenheitRoomC: 40,
  fahrenheitLoftC: 50,
  fahrenheitOutdoorC: 40,
  fahrenheitMs: DAY_MS,
  /** against another sensor of cold air: hours, how far apart, and how near once converted, K */
  fahrenheitHours: 72,
  fahrenheitApartK: 12,
  fahrenheitNearK: 6,
  /** a day's humidity below this in percent is a share of 1 */
  shareOfOnePct: 1.5,

  /** spans over which the battery's fall is measured; the earlier end of the two is told, ms */
  batteryWindowsMs: Object.freeze([14 * DAY_MS, 4 * DAY_MS]),
  batteryReadings: 8,
  /** the end, V, for a battery whose voltage is at most the first number: button or two dry cells; one lithium ion cell; three dry cells */
  batteryCutOff: Object.freeze<readonly (readonly [upTo: number, cutOff: number])[]>([
    [3.45, 2.2],
    [4.25, 3.3],
    [5, 3.3],
  ]),
  batterySoonDays: 30,
  batteryNowDays: 7,
});

export type HealthSettings = typeof healthSettings;
