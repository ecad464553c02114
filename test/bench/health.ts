import { type HealthFinding, healthCodes } from '../../server/analysis/health/finding.ts';
import { sensorFindings } from '../../server/analysis/health/sensor-findings.ts';
import { findingsAt, healthyWinter, plantedFaults } from '../analysis/health/faults.ts';
import { openDataIsHere, openDataMissing, openHouse, openHouses, windowsAt } from '../analysis/health/windows.ts';
import type { BenchRow } from './row.ts';

const FORTNIGHT = 14 * 86_400_000;

/** Which rule speaks of which planted fault, and which of healthy winters, as a table; then the shares as ratios. */
export async function benchHealth(): Promise<BenchRow[]> {
  const columns = healthCodes.map((code) => ({ code, found: 0, planted: 0 }));
  let elsewhere = 0;
  let others = 0;
  printHeader();
  for (const { name, code, at, places } of plantedFaults) {
    const findings = findingsAt(places());
    const own = findings.get(at)!;
    const column = columns.find((one) => one.code === code)!;
    column.planted++;
    if (own.some((finding) => finding.code === code)) column.found++;
    elsewhere += own.filter((finding) => finding.code !== code).length;
    others += [...findings].filter(([place]) => place !== at).reduce((sum, [, told]) => sum + told.length, 0);
    printRow(name, own, code);
  }

  const healthy: HealthFinding[][] = [...findingsAt(healthyWinter()).values()];
  if (openDataIsHere) healthy.push(...Object.keys(openHouses).flatMap(measuredFindings));
  else console.log(`  ${openDataMissing}`);
  const loud = healthy.filter((findings) => findings.length > 0);
  printRow(`${healthy.length} healthy fortnights, simulated and measured`, healthy.flat(), null);

  const rows = columns.map(({ code, found, planted }): BenchRow => {
    const name = `planted faults that ${code} finds`;
    return {
      name,
      measured: found,
      limit: planted,
      unit: 'faults',
      ratio: found / planted,
      aim: 1,
      direction: 'at least',
    };
  });
  console.log(`  ${others} findings on other sensors of the home, which the faulty one is held against`);
  return [
    ...rows,
    {
      name: 'findings of other rules on the faulty sensor',
      measured: elsewhere,
      limit: plantedFaults.length,
      unit: 'a fault',
      ratio: elsewhere / plantedFaults.length,
      aim: 0,
      direction: 'at most',
      note: 'one fault, one finding',
    },
    {
      name: 'healthy fortnights of a sensor on which a rule speaks',
      measured: loud.length,
      limit: healthy.length,
      unit: 'fortnights',
      ratio: loud.length / healthy.length,
      aim: 0,
      direction: 'at most',
    },
  ];
}

function measuredFindings(house: string): HealthFinding[][] {
  const places = openHouse(house);
  const begins = Math.min(...places.map(({ series }) => series.temperature!.times[0]!));
  const ends = Math.max(...places.map(({ series }) => series.temperature!.times.at(-1)!));
  const told: HealthFinding[][] = [];
  for (let now = begins + FORTNIGHT; now <= ends; now += FORTNIGHT) {
    const present = places.filter(({ series }) => series.temperature!.times.at(-1)! > now);
    told.push(...windowsAt(present, now).map((window) => sensorFindings(window)));
  }
  return told;
}

const WIDTH = 68;

function printHeader(): void {
  console.log('  fault on one sensor × rule that speaks of it (X: its own, number: another; columns in this order)');
  for (const [k, code] of healthCodes.entries()) console.log(`  ${' '.repeat(WIDTH)}${' '.repeat(2 * k)}${code}`);
}

function printRow(name: string, findings: readonly HealthFinding[], own: string | null): void {
  const cells = healthCodes.map((code) => {
    const count = findings.filter((finding) => finding.code === code).length;
    if (count === 0) return '·';
    return code === own ? 'X' : String(Math.min(9, count));
  });
  console.log(`  ${name.slice(0, WIDTH - 2).padEnd(WIDTH)}${cells.join(' ')}`);
}
