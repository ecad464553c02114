/** One level of a topic pattern. */
type Level =
  | { readonly kind: 'text'; readonly text: string }
  /** `+`: any one level */
  | { readonly kind: 'any' }
  /** `#`: all levels from here on, also none */
  | { readonly kind: 'rest' }
  /** `before{name}after`: a level whose middle has a name */
  | { readonly kind: 'part'; readonly before: string; readonly name: string; readonly after: string };

/** An MQTT topic filter in which a level may hold a named part in braces. */
export interface TopicPattern {
  readonly levels: readonly Level[];
  /** names of its parts, in order */
  readonly parts: readonly string[];
}

export type PatternResult =
  | { readonly kind: 'pattern'; readonly pattern: TopicPattern }
  | { readonly kind: 'fault'; readonly message: string };

const LONGEST_PATTERN = 500;

/**
 * Reads a pattern such as `attic/{sensor}/state`.
 *
 * @source MQTT 5.0, 4.7.1 (wildcards); braces as in RFC 6570, 1.2, level 1
 */
export function readPattern(text: string): PatternResult {
  const fault = (message: string): PatternResult => ({ kind: 'fault', message });
  if (text === '' || text.length > LONGEST_PATTERN) return fault(`must have 1 to ${LONGEST_PATTERN} characters`);
  if (text.includes('\u0000')) return fault('must not hold the character U+0000');
  const levels: Level[] = [];
  const parts: string[] = [];
  const texts = text.split('/');
  for (const [index, level] of texts.entries()) {
    if (level === '#') {
      if (index < texts.length - 1) return fault('# stands for all levels from there on, so it must be the last one');
      levels.push({ kind: 'rest' });
    } else if (level === '+') {
      levels.push({ kind: 'any' });
    } else if (/[+#]/.test(level)) {
      return fault(`the level ${JSON.stringify(level)} mixes + or # with text: a wildcard takes a whole level`);
    } else if (/[{}]/.test(level)) {
      const match = /^([^{}]*)\{([a-z][a-z0-9_]{0,29})\}([^{}]*)$/.exec(level);
      if (match === null) {
        return fault(
          `the level ${JSON.stringify(level)} must hold one part such as {sensor}, named in lower-case letters, digits and _`,
        );
      }
      const name = match[2]!;
      if (parts.includes(name)) return fault(`the part {${name}} stands there twice: give each its own name`);
      parts.push(name);
      levels.push({ kind: 'part', before: match[1]!, name, after: match[3]! });
    } else {
      levels.push({ kind: 'text', text: level });
    }
  }
  return { kind: 'pattern', pattern: { levels, parts } };
}

/**
 * The named parts of a topic that fits, or null when it does not.
 *
 * @source MQTT 5.0, 4.7.1.2 (`sport/#` takes `sport` too) and 4.7.2 (no wildcard takes a topic that begins with $)
 */
export function matchTopic({ levels }: TopicPattern, topic: string): ReadonlyMap<string, string> | null {
  const first = levels[0]!;
  if (topic.startsWith('$') && !(first.kind === 'text' || (first.kind === 'part' && first.before.startsWith('$')))) {
    return null;
  }
  const texts = topic.split('/');
  const found = new Map<string, string>();
  for (const [index, level] of levels.entries()) {
    if (level.kind === 'rest') return found;
    const text = texts[index];
    if (text === undefined) return null;
    if (level.kind === 'text' && text !== level.text) return null;
    if (level.kind !== 'part') continue;
    const { before, name, after } = level;
    if (text.length <= before.length + after.length) return null;
    if (!text.startsWith(before) || !text.endsWith(after)) return null;
    found.set(name, text.slice(before.length, text.length - after.length));
  }
  return texts.length === levels.length ? found : null;
}

/** The topic filter that a broker understands: named parts become `+`. */
export const filterOf = ({ levels }: TopicPattern): string =>
  levels.map((level) => (level.kind === 'text' ? level.text : level.kind === 'rest' ? '#' : '+')).join('/');

/** Names in braces in a template such as `attic-{sensor}`, or null when a brace stands alone. */
export function templateParts(template: string): string[] | null {
  const names = [...template.matchAll(/\{([^{}]*)\}/g)].map((match) => match[1]!);
  return /[{}]/.test(template.replaceAll(/\{[^{}]*\}/g, '')) ? null : names;
}

export const fillTemplate = (template: string, parts: ReadonlyMap<string, string>): string =>
  template.replaceAll(/\{([^{}]*)\}/g, (_, name: string) => parts.get(name) ?? '');

/** Whether every topic that fits one topic filter fits another, wider one. */
export function covers(wide: string, narrow: string): boolean {
  const theirs = narrow.split('/');
  const ours = wide.split('/');
  for (const [index, level] of ours.entries()) {
    if (level === '#') return true;
    const other = theirs[index];
    if (other === undefined || other === '#' || (level !== '+' && level !== other)) return false;
  }
  return ours.length === theirs.length;
}
