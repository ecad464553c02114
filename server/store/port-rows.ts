export type New<T extends { id: number }> = Omit<T, 'id'>;
/** What to change; what is left out or undefined stays. */
export type Change<T extends { id: number }> = {
  readonly [K in Exclude<keyof T, 'id' | 'dwellingId'>]?: T[K] | undefined;
};
