import type { HealthFinding, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';

/** A step in temperature that stays, too fast for the air or a surface of a home. */
export function jump({ series }: SensorWindow, settings: HealthSettings): HealthFinding[] {
  if (series.temperature === undefined) return [];
  const { times, values } = series.temperature;
  const holds = settings.jumpHolds;
  const near = settings.jumpK / 3;
  const findings: HealthFinding[] = [];
  for (let k = holds; k + holds <= values.length; k++) {
    const step = values[k]! - values[k - 1]!;
    if (Math.abs(step) < settings.jumpK || times[k]! - times[k - 1]! > settings.jumpMs) continue;
    const steadyBefore = values.subarray(k - holds, k).every((value) => Math.abs(value - values[k - 1]!) <= near);
    const steadyAfter = values.subarray(k, k + holds).every((value) => Math.abs(value - values[k]!) <= near);
    if (!steadyBefore || !steadyAfter) continue;
    findings.push({
      code: 'jump',
      severity: 'warning',
      message: `It jumped by ${step.toFixed(1)} K from one reading to the next and stayed there, from ${values[k - 1]!.toFixed(1)} to ${values[k]!.toFixed(1)} °C.`,
      data: { stepK: step, beforeC: values[k - 1]!, afterC: values[k]! },
      from: times[k - 1]!,
      to: times[k]!,
      whatToDo:
        'If somebody moved the sensor, tell its new place from that time on; if not, check the probe and compare it with another.',
      effect: { kind: 'shown' },
    });
  }
  return findings;
}
