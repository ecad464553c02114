/** The reference tokens of a JSON Pointer, `~1` and `~0` resolved, or null when the text is none. @source RFC 6901, 3 and 4 */
export function pointerTokens(pointer: string): string[] | null {
  if (pointer === '') return [];
  if (!pointer.startsWith('/') || /~(?![01])/.test(pointer)) return null;
  return pointer
    .slice(1)
    .split('/')
    .map((token) => token.replaceAll('~1', '/').replaceAll('~0', '~'));
}

/** A pointer of these tokens. */
export const pointerOf = (tokens: readonly string[]): string =>
  tokens.map((token) => `/${token.replaceAll('~', '~0').replaceAll('/', '~1')}`).join('');

/**
 * What a pointer points at in a JSON value; undefined where there is nothing. `-`, the place after an array's last
 * element, is always nothing.
 *
 * @source RFC 6901, 4
 */
export function valueAt(document: unknown, tokens: readonly string[]): unknown {
  let value = document;
  for (const token of tokens) {
    if (typeof value !== 'object' || value === null) return undefined;
    if (Array.isArray(value)) {
      if (!/^(?:0|[1-9]\d*)$/.test(token)) return undefined;
      value = value[Number(token)];
    } else {
      if (!Object.hasOwn(value, token)) return undefined;
      value = (value as Record<string, unknown>)[token];
    }
  }
  return value;
}
