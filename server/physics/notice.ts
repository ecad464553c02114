/**
 * Something a reader must know about a result: data too few or too poor, a method outside its limits, a risk seen.
 * It stands beside the result and never in place of it.
 */
export interface Notice<Code extends string = string> {
  readonly code: Code;
  readonly severity: 'note' | 'caution' | 'warning';
  /** one or two plain sentences with the figures that matter */
  readonly message: string;
  /** the figures behind the message, unit suffixes in the names; lists are of names */
  readonly data: Readonly<Record<string, number | string | boolean | null | readonly string[]>>;
}
