/** The same texts in any language: every key, every placeholder. */
export type Same<T> = T extends string
  ? string
  : T extends (...given: infer A) => infer R
    ? (...given: A) => Same<R>
    : { readonly [K in keyof T]: Same<T[K]> };
