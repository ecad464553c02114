/**
 * Runs the benchmarks and prints each as a ratio against a limit measured in the same run. `npm run bench -- store mould`
 * runs only the suites named. Exits with 1 when a ratio misses its aim, so that a regression is seen.
 */
import type { BenchRow } from './row.ts';

const suites: Record<string, () => Promise<BenchRow[]>> = {
  mould: async () => (await import('./mould.ts')).benchMould(),
  conduction: async () => (await import('./conduction.ts')).benchConduction(),
  'live-home': async () => (await import('./live-home.ts')).benchLiveHome(),
  store: async () => (await import('./store.ts')).benchStore(),
  postgres: async () => (await import('./postgres.ts')).benchPostgres(),
  ingest: async () => (await import('./ingest.ts')).benchIngest(),
  fabric: async () => (await import('./fabric.ts')).benchFabric(),
  health: async () => (await import('./health.ts')).benchHealth(),
  verdict: async () => (await import('./verdict.ts')).benchVerdict(),
  forecast: async () => (await import('./forecast.ts')).benchForecast(),
  portfolio: async () => (await import('./portfolio.ts')).benchPortfolio(),
  page: async () => (await import('./page.ts')).benchPage(),
  fuzz: async () => (await import('./fuzz.ts')).benchFuzz(),
  server: async () => (await import('./server.ts')).benchServer(),
  load: async () => (await import('./load.ts')).benchLoad(),
  fleet: async () => (await import('./fleet.ts')).benchFleet(),
  kill: async () => (await import('./kill.ts')).benchKill(),
  'kill-several': async () => (await import('./kill.ts')).benchKillSeveral(),
  soak: async () => (await import('./soak.ts')).benchSoak(),
  wear: async () => (await import('./wear.ts')).benchWear(),
  evidence: async () => (await import('./evidence.ts')).benchEvidence(),
};

const wanted = process.argv.slice(2);
const unknown = wanted.filter((name) => !(name in suites));
if (unknown.length > 0) {
  console.error(`There is no suite ${unknown.join(', ')}; there are ${Object.keys(suites).join(', ')}.`);
  process.exit(2);
}

const meets = ({ ratio, aim, direction }: BenchRow): boolean => (direction === 'at most' ? ratio <= aim : ratio >= aim);
const figure = (value: number): string => Number(value.toPrecision(4)).toLocaleString('en-GB');

let missed = 0;
for (const [name, run] of Object.entries(suites)) {
  if (wanted.length > 0 && !wanted.includes(name)) continue;
  console.log(`\n${name}`);
  for (const row of await run()) {
    const met = meets(row);
    if (!met) missed += 1;
    console.log(
      `  ${met ? 'meets ' : 'MISSES'}  ${row.ratio.toFixed(3)} (aim ${row.direction} ${row.aim})  ${row.name}: ${figure(row.measured)} against ${figure(row.limit)} ${row.unit}${row.note === undefined ? '' : `; ${row.note}`}`,
    );
  }
}
console.log(missed === 0 ? '\nAll aims met.' : `\n${missed} missed.`);
process.exitCode = missed === 0 ? 0 : 1;
