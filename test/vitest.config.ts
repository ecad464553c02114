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
    // ends what hangs; nothing is measured by it, and a slow machine takes three times as long as a fast one
    testTimeout: 120_000,
    hookTimeout: 120_000,
    // what is waited for may take as long as a wait of the browser's own may; by itself it would be a second
    expect: { poll: { timeout: 30_000 } },
  },
});
