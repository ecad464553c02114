/** The same methods, with the engine's errors turned into the port's. */
export function speakingOfStores<T extends object>(methods: T, toStoreError: (error: unknown) => unknown): T {
  const wrapped = Object.entries(methods as Record<string, (...given: unknown[]) => Promise<unknown>>).map(
    ([name, method]) => [
      name,
      (...given: unknown[]) =>
        method(...given).catch((error: unknown) => {
          throw toStoreError(error);
        }),
    ],
  );
  return Object.fromEntries(wrapped) as T;
}
