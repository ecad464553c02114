/** One family of samples in the text exposition format. */
export interface Family {
  readonly type: 'counter' | 'gauge' | 'histogram' | 'summary' | 'untyped';
  readonly help: string | null;
  readonly samples: readonly {
    readonly name: string;
    readonly labels: ReadonlyMap<string, string>;
    readonly value: number;
  }[];
}

/**
 * Reads Prometheus' text exposition format, version 0.0.4, and refuses what its description does not allow.
 *
 * @source "Exposition formats, text-based format" of the Prometheus documentation, from memory: lines end with a line
 *   feed, the last one too; HELP and TYPE at most once a name and before its samples, TYPE before them; all lines of a
 *   name in one group; names [a-zA-Z_:][a-zA-Z0-9_:]*, label names [a-zA-Z_][a-zA-Z0-9_]*; label values escape \\, \" and
 *   \n, help texts \\ and \n; values as Go's ParseFloat takes them with NaN, +Inf, -Inf; each combination of name and
 *   labels once; histograms have cumulative buckets up to le="+Inf", equal to _count, and _sum
 * @throws Error naming the line
 */
export function readExposition(text: string): Map<string, Family> {
  if (!text.endsWith('\n')) throw new Error('the last line does not end with a line feed');
  const families = new Map<
    string,
    { type: Family['type'] | null; help: string | null; samples: Family['samples'][number][] }
  >();
  const seen = new Set<string>();
  let current: string | null = null;
  const enter = (name: string, line: string) => {
    let family = families.get(name);
    if (family === undefined) {
      family = { type: null, help: null, samples: [] };
      families.set(name, family);
    } else if (current !== name) throw new Error(`lines of ${name} are not in one group: ${line}`);
    current = name;
    return family;
  };
  for (const line of text.slice(0, -1).split('\n')) {
    if (line === '' || /^#(?! (?:HELP|TYPE) )/.test(line)) continue;
    const help = /^# HELP ([a-zA-Z_:][a-zA-Z0-9_:]*) (.*)$/.exec(line);
    if (help !== null) {
      if (/\\(?![\\n])/.test(help[2]!.replaceAll('\\\\', ''))) throw new Error(`a help text is badly escaped: ${line}`);
      const family = enter(help[1]!, line);
      if (family.help !== null || family.samples.length > 0) throw new Error(`HELP twice or late: ${line}`);
      family.help = help[2]!;
      continue;
    }
    const type = /^# TYPE ([a-zA-Z_:][a-zA-Z0-9_:]*) (counter|gauge|histogram|summary|untyped)$/.exec(line);
    if (type !== null) {
      const family = enter(type[1]!, line);
      if (family.type !== null || family.samples.length > 0) throw new Error(`TYPE twice or late: ${line}`);
      family.type = type[2] as Family['type'];
      continue;
    }
    const sample = /^([a-zA-Z_:][a-zA-Z0-9_:]*)(\{.*\})? (\S+)(?: (-?\d+))?$/.exec(line);
    if (sample === null) throw new Error(`no sample: ${line}`);
    const [, name, braces, value] = sample as unknown as [string, string, string | undefined, string];
    const base = name.replace(/_(?:bucket|sum|count)$/, '');
    const grouped = families.get(base)?.type === 'histogram' || families.get(base)?.type === 'summary';
    const family = enter(grouped ? base : name, line);
    if (!/^(?:NaN|[+-]?Inf|[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)$/.test(value))
      throw new Error(`no number: ${line}`);
    const labels = readLabels(braces ?? '{}', line);
    const identity = `${name}${JSON.stringify([...labels].sort())}`;
    if (seen.has(identity)) throw new Error(`twice: ${line}`);
    seen.add(identity);
    family.samples.push({ name, labels, value: Number(value.replace('Inf', 'Infinity')) });
  }
  const result = new Map<string, Family>();
  for (const [name, { type, help, samples }] of families) {
    if (type === 'histogram') checkHistogram(name, samples);
    result.set(name, { type: type ?? 'untyped', help, samples });
  }
  return result;
}

function readLabels(braces: string, line: string): Map<string, string> {
  const labels = new Map<string, string>();
  let rest = braces.slice(1, -1);
  while (rest !== '') {
    const label = /^([a-zA-Z_][a-zA-Z0-9_]*)="((?:[^"\\\n]|\\[\\"n])*)"(?:,|$)/.exec(rest);
    if (label === null || labels.has(label[1]!)) throw new Error(`no labels: ${line}`);
    labels.set(label[1]!, label[2]!);
    rest = rest.slice(label[0].length);
  }
  return labels;
}

function checkHistogram(name: string, samples: Family['samples']): void {
  const partOf = (part: string) => samples.find((one) => one.name === `${name}_${part}`)?.value;
  const buckets = samples.filter((one) => one.name === `${name}_bucket`);
  const bounds = buckets.map(({ labels }) => Number(labels.get('le')?.replace('+Inf', 'Infinity') ?? Number.NaN));
  const rising = (list: readonly number[], strictly: boolean) =>
    list.every((value, k) => k === 0 || (strictly ? value > list[k - 1]! : value >= list[k - 1]!));
  if (bounds.at(-1) !== Number.POSITIVE_INFINITY || !rising(bounds, true))
    throw new Error(`buckets of ${name} are not in order up to +Inf`);
  const counts = buckets.map(({ value }) => value);
  if (!rising(counts, false)) throw new Error(`buckets of ${name} are not cumulative`);
  if (counts.at(-1) !== partOf('count') || partOf('sum') === undefined)
    throw new Error(`${name} lacks _sum, or its _count is another`);
}
