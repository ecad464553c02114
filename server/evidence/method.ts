import { assessmentSettings, defaultTarget } from '../analysis/assessment-settings.ts';
import { healthSettings } from '../analysis/health/settings.ts';
import { hourSettings } from '../analysis/hours.ts';
import { riskCriterionWords } from '../analysis/risk.ts';

/** The method in words, with every equation and where it is published. */
export const methodText = (): string => `HOW THE FIGURES ARE WORKED OUT

Units: temperature in degrees Celsius, differences in kelvin (K), humidity in percent relative to liquid water at every
temperature, pressure in pascal (Pa), time in UTC. exp is the exponential function, ln the natural logarithm.

1 FROM RAW READINGS TO READINGS THAT COUNT
Raw readings stand in readings/ as they came. Two things happen to them on the way:
a) A temperature reading is set aside when it is a chip's power-on value of ${healthSettings.powerOnC} C with no other
   reading of its hour between 0 and ${healthSettings.powerOnCompanyK} K from it (equal ones not counted), or when it lies
   ${healthSettings.spikeK} K or more from the median of the other readings of its series in its hour, of which there are
   two or more (readings of ${healthSettings.powerOnC} C not counted among them), and which all lie within a third of that
   from their median. It is looked for only in hours whose highest reading is ${healthSettings.powerOnC} C or whose readings
   lie ${healthSettings.spikeK} K or more apart. No source: common practice.
b) Calibrations that are in use (not withdrawn) correct the reading: with one point by reference_1 - reading_1, with two
   by the straight line through both. The latest that began at or before the reading applies. The result is held within
   -60 to 100 C or 0 to 105 %. A humidity over 100 % then counts as 100 %.
A reading belongs to the place at which its sensor stood at that time (placements.csv).

2 VAPOUR PRESSURE AND DEW POINT
Saturation pressure over water:  psat = 610.5 exp(17.269 T / (237.3 + T))   ISO 13788:2012, E.1
Saturation pressure over ice:    psat = 610.5 exp(21.875 T / (265.5 + T))   ISO 13788:2012, E.2, used below 0 C
Humidity sensors report over water below 0 C too (WMO-No. 8, Annex 4.A), so the vapour pressure of air is
  p = humidity / 100 x psat over water of its temperature.
Dew point: the inverse of psat, over water from 610.5 Pa up, over ice below (E.3, E.4).
A humidity reading is paired with the reading of temperature of the same sensor nearest in time within its hour, the
later of two equally near. Pressures below that of saturation over ice at -60 C, and above 101325 Pa, are left out.

3 AT A SURFACE
For a ceiling or control surface, each temperature reading is paired with the vapour pressure of the room it faces (its
own, else the first room in places.csv) nearest in time within the hour. Elsewhere the place's own pairs are used.
  dew-point margin = surface temperature - dew point                       K
  surface humidity = 100 p / psat(surface temperature), over ice below 0 C  %   ISO 13788:2012, 5
These are worked out for each pair and then averaged over the hour, because they are not linear.

4 HOURS
An hour counts where temperature, and humidity and temperature of the air that it is judged by, cover at least
${hourSettings.coverageWanted} of it. Each reading speaks for its interval (interval_s of series.csv, ${hourSettings.intervalSeconds} s where that is
not known), rounded up to 5, 10, 15, 20, 30 or 60 minutes (one tenth of 5 minutes over is forgiven): the slot of that length, counted from
the full hour, in which it lies. Coverage is the share of the hour in such slots.
Risk hour: ${riskCriterionWords()}. ISO 13788:2012, 5 sets 80 % for a monthly mean; by the hour it is an indicator.
Condensation hour: mean margin at or below 0 K. Condensation night: a local night, 18:00 to 08:00, with one.
Hours marked left_out rest on a sensor that repeated one value, or stood at 100 %, for longer than air does: they count in
no figure.

5 TEMPERATURE FACTOR
  f = (surface - cold side) / (room - cold side)                            ISO 13788:2012, 3.1.2
By the hour (factor_outdoor, factor_loft) from the hour's mean temperatures, where room - cold side is at least
${hourSettings.factorDifference} K. Of a phase: sum of (surface - cold side) over sum of (room - cold side) over night hours, from
${assessmentSettings.settleHours} hours after nightfall, with room and cold side delayed by fitted time constants, so that heat stored in the
roof does not count as insulation. Its interval combines chance (nights resampled in blocks of ${assessmentSettings.blockDays} days; Kuensch 1989),
sensor offsets and drift (from calibrations, else typical data sheets), and the method's own error. Convergence as in ISO
9869-1:2014, 7.1, applied to f. Where only the loft is known as the cold side, f is loft-referenced and is never held to
a published limit. Target: f ${defaultTarget.f} (${defaultTarget.source}).

6 HAD NOTHING BEEN DONE
The surface before the works is fitted as intercept + f x room + (1 - f) x cold side, both delayed, and driven with the
weather and living of the after phase: an adjusted baseline (IPMVP), with the limits of fit of ASHRAE Guideline 14-2014.
Avoided = expected without the works - measured.

7 CAUSES
Shapley value (1953) of each of three remedies over the risk hours before the works: fabric (surface at the target f),
moisture (vapour excess within humidity class ${assessmentSettings.humidityClassLimit}; ISO 13788:2012, Annex A) and heating (room at least
${assessmentSettings.heatedToC} C). It indicates; it does not blame.

8 MOULD INDEX (0 to 6; 3 can be seen)
VTT model: Hukka & Viitanen, Wood Science and Technology 33 (1999) 475-485; Viitanen & Ojanen (2007); Ojanen et al. (2010).
  RHcrit = -0.00267 T^3 + 0.160 T^2 - 3.13 T + 100 for T <= 20 C, never under RHmin; no growth at T <= 0 or > 50 C
  dM/dt per day = k1 k2 / (7 exp(-0.68 ln T - 13.9 ln RH + 0.14 W - 0.33 SQ + 66.02))
  k2 = max(1 - exp(2.3 (M - Mmax)), 0);  Mmax = A + B r - C r^2;  r = (RHcrit - RH) / (RHcrit - 100)
Class ${assessmentSettings.mouldSensitivity} (paper, wood-based boards). In dry hours the index declines for 6 h, stays to 24 h, then declines at half that rate.

9 TIMBER
Equilibrium moisture content of the air, USDA Wood Handbook (2010), equation 4-5, lagged as by 10 mm of softwood
(diffusivity from memory). Decay is taken not to start below 20 % sustained (common practice).

10 WHAT IT IS NOT
It indicates, it does not certify, and is no medical or legal advice. Sensors can be wrong; the uncertainty given is what
is known of them.
`;
