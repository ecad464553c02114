import { battery } from './battery.ts';
import { clockDrift, clockSkew } from './clock.ts';
import { duplicatedIdentity } from './duplicated-identity.ts';
import type { HealthFinding, SensorWindow } from './finding.ts';
import { flatLined } from './flat-lined.ts';
import { gaps } from './gaps.ts';
import { humidityWetted } from './humidity-wetted.ts';
import { jump } from './jump.ts';
import { late } from './late.ts';
import { powerOnValue } from './power-on-value.ts';
import { selfHeating } from './self-heating.ts';
import { type HealthSettings, healthSettings } from './settings.ts';
import { silent } from './silent.ts';
import { spikes } from './spikes.ts';
import { stuckAt100 } from './stuck-at-100.ts';
import { swappedPlaces } from './swapped-places.ts';
import { unitMixUp } from './unit-mix-up.ts';

type HealthRule = (window: SensorWindow, settings: HealthSettings) => HealthFinding[];

/** What is asked of every sensor, in the order in which a reader would ask it. */
const healthRules: readonly HealthRule[] = [
  silent,
  late,
  battery,
  gaps,
  flatLined,
  powerOnValue,
  spikes,
  jump,
  stuckAt100,
  humidityWetted,
  selfHeating,
  clockSkew,
  clockDrift,
  duplicatedIdentity,
  swappedPlaces,
  unitMixUp,
];

const loudness = { warning: 0, caution: 1, note: 2 };

/** Everything that a sensor's readings over a window say about the sensor, the gravest first. */
export function sensorFindings(window: SensorWindow, settings: HealthSettings = healthSettings): HealthFinding[] {
  return healthRules
    .flatMap((rule) => rule(window, settings))
    .map((finding) => whereAccompanied(finding, window))
    .sort((a, b) => loudness[a.severity] - loudness[b.severity]);
}

/** Hours are left out by the place, and a place with another sensor shows no flat line: there the finding only stands beside. */
function whereAccompanied(finding: HealthFinding, { companions }: SensorWindow): HealthFinding {
  const leavesHoursOut = finding.code === 'flat-lined' || finding.code === 'stuck-at-100';
  return companions > 0 && leavesHoursOut && finding.effect.kind === 'not-counted'
    ? { ...finding, effect: { kind: 'shown' } }
    : finding;
}
