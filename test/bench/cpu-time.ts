import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';

/** Fields of /proc/PID/stat from the third on; null: it has ended. @source proc_pid_stat(5) */
function statOf(processId: number | string): string[] | null {
  try {
    const text = readFileSync(`/proc/${processId}/stat`, 'utf8');
    return text.slice(text.lastIndexOf(')') + 2).split(' ');
  } catch {
    return null;
  }
}

const ticksPerSecond = Number(execFileSync('getconf', ['CLK_TCK'], { encoding: 'utf8' }));
const sum = (fields: readonly string[], from: number, to: number): number =>
  fields.slice(from, to).reduce((total, field) => total + Number(field), 0) / ticksPerSecond;

/** User and system time of a process, s; 0: it has ended. */
export function cpuSeconds(processId: number): number {
  const stat = statOf(processId);
  return stat === null ? 0 : sum(stat, 11, 13);
}

/** The same with its children, those that have ended too. */
export function cpuSecondsWithChildren(processId: number): number {
  const own = statOf(processId);
  if (own === null) return 0;
  const children = readdirSync('/proc')
    .filter((name) => /^\d+$/.test(name))
    .map(statOf)
    .filter((stat) => stat?.[1] === String(processId));
  return sum(own, 11, 15) + children.reduce((total, stat) => total + sum(stat!, 11, 13), 0);
}
