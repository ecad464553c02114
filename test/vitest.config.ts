import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: fileURLToPath(new URL('..', import.meta.url)),
    include: ['test/**/*.test.ts', 'test/**/*.test.tsx'],
    reporters: ['default', fileURLToPath(new URL('./check/count-reporter.ts', import.meta.url))],
    setupFiles: [fileURLToPath(new URL('./web/speak-english.ts', import.meta.url))],
    pool: 'forks',
    maxWorkers: 2,
    testTimeout: 60_000,
    hookTimeout: 60_000,
  },
});
