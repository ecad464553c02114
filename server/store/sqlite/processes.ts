import type { ProcessStore } from '../port.ts';

/** A file has one process that works on it: there is nobody to settle anything with. */
export function processStore(): Omit<ProcessStore, 'isShared'> {
  const busy = new Set<string>();
  return {
    async doAlone(work, dwellingId, task) {
      const key = `${work} ${dwellingId}`;
      if (busy.has(key)) return null;
      busy.add(key);
      try {
        return await task();
      } finally {
        busy.delete(key);
      }
    },
    takeCharge: async () => true,
    giveUpCharge: async () => {},
    tellOthers: async () => {},
    listen: async () => {},
  };
}
