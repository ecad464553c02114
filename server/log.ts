import { type Logger, pino, stdSerializers } from 'pino';
import type { Config } from './config.ts';

/** What stands in the place of a secret. */
const HIDDEN = '[hidden]';

/** Names of fields whose value is nobody's business. */
const SECRET_NAME = /pass(?:word|phrase)|secret|token|cookie|authorization/i;

/** Shorter ones stand in ordinary words too, and hiding those would only show what the secret is. */
const SHORTEST = 4;

/** What is secret wherever it comes from, and what is left of it. */
const patterns: readonly (readonly [RegExp, string])[] = [
  // RFC 3986, 3.2.1: user and password before the host
  [/\b([a-z][a-z0-9+.-]*:\/\/)[^\s/?#"'<>]*@/gi, '$1'],
  // an address of the web is known by its host: path and query often are the key to it
  [/\b(https?:\/\/[^\s/?#"'<>]+)[/?#][^\s"'<>]*/gi, `$1/${HIDDEN}`],
  // links that open without a sign-in
  [/(\/(?:shared|unsubscribe)\/)[^\s/?#"'<>]+/g, `$1${HIDDEN}`],
  [/(coomb-session=)[^;\s"']+/g, `$1${HIDDEN}`],
  // RFC 9110, 11.4
  [/\b(Basic|Bearer) +[\w+/=.~-]{6,}/gi, `$1 ${HIDDEN}`],
];

/** Every secret among the settings, as it may turn up in the words of a library. */
function secretsOf(settings: Readonly<Record<string, unknown>>): string[] {
  const found = Object.entries(settings).flatMap(([name, value]) => {
    if (typeof value !== 'string') return [];
    const inUrl = URL.canParse(value) ? new URL(value).password : '';
    return [...(SECRET_NAME.test(name) ? [value] : []), inUrl, decoded(inUrl)];
  });
  const forms = found.flatMap((secret) => [
    secret,
    encodeURIComponent(secret),
    Buffer.from(secret).toString('base64').replace(/=+$/, ''),
  ]);
  // longer ones first: one may lie within another
  return [...new Set(forms)].filter((form) => form.length >= SHORTEST).sort((a, b) => b.length - a.length);
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** Takes out of a text what must not be read by whoever reads the log. */
export function secretHider(settings: Readonly<Record<string, unknown>>): (text: string) => string {
  const secrets = secretsOf(settings);
  return (text) => {
    const named = secrets.reduce((left, secret) => left.replaceAll(secret, HIDDEN), text);
    return patterns.reduce((left, [pattern, rest]) => left.replaceAll(pattern, rest), named);
  };
}

/**
 * The log: lines of JSON on standard output. Nothing secret leaves through it, whoever wrote the text: secrets of the
 * settings are hidden wherever they stand, and so is what looks like one.
 */
export function createLog(config: Config): Logger {
  const hide = secretHider(config);
  const clean = (value: unknown, name: string): unknown => {
    if (typeof value === 'string') return SECRET_NAME.test(name) ? HIDDEN : hide(value);
    if (Array.isArray(value)) return value.map((one) => clean(one, name));
    if (typeof value !== 'object' || value === null) return value;
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, clean(one, key)]));
  };
  return pino({
    level: config.logLevel,
    serializers: { err: stdSerializers.err, error: stdSerializers.err },
    hooks: { streamWrite: (line) => `${JSON.stringify(clean(JSON.parse(line), ''))}\n` },
  });
}
