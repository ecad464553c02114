/** One figure for a machine that watches this one. Units are base units and stand in the name, as the format advises. */
export type Metric =
  | { readonly type: 'counter' | 'gauge'; readonly name: string; readonly help: string; readonly value: number }
  | { readonly type: 'histogram'; readonly name: string; readonly help: string; readonly value: Distribution };

/** How often a value was at most each bound; what is above the last is in `count` alone. */
export interface Distribution {
  readonly buckets: readonly { readonly atMost: number; readonly count: number }[];
  readonly sum: number;
  readonly count: number;
}

export const EXPOSITION_TYPE = 'text/plain; version=0.0.4; charset=utf-8';

const escaped = (help: string): string => help.replaceAll('\\', '\\\\').replaceAll('\n', '\\n');

/** @source Prometheus text exposition format, version 0.0.4 */
export function exposition(metrics: readonly Metric[]): string {
  return metrics
    .map(({ type, name, help, value }) => {
      const lines =
        typeof value === 'number'
          ? [`${name} ${value}`]
          : [
              ...value.buckets.map(({ atMost, count }) => `${name}_bucket{le="${atMost}"} ${count}`),
              `${name}_bucket{le="+Inf"} ${value.count}`,
              `${name}_sum ${value.sum}`,
              `${name}_count ${value.count}`,
            ];
      return `# HELP ${name} ${escaped(help)}\n# TYPE ${name} ${type}\n${lines.join('\n')}\n`;
    })
    .join('');
}
