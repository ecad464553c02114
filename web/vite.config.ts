import { fileURLToPath } from 'node:url';
import preact from '@preact/preset-vite';
import { defineConfig } from 'vite';
import { iconsOf } from './build/icons.ts';
import { preloadFirst } from './build/preload.ts';
import { shellList } from './build/shell.ts';

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));
const WORKER = 'sw.js';

/** The page is served by the same process as the API; in development it asks a running server through this proxy. */
export default defineConfig({
  root: here('.'),
  plugins: [
    preact(),
    iconsOf(new URL('public/mark.svg', import.meta.url)),
    preloadFirst('/src/app.tsx'),
    shellList(WORKER),
  ],
  build: {
    outDir: here('../dist/web'),
    emptyOutDir: true,
    // The page's policy allows nothing inline, so that no asset may become a data: address.
    assetsInlineLimit: 0,
    target: 'es2022',
    rollupOptions: {
      input: { index: here('index.html'), sw: here('src/offline/worker.ts') },
      // the service worker has one address for ever, and no other file in it
      output: { entryFileNames: ({ name }) => (name === 'sw' ? WORKER : 'assets/[name]-[hash].js') },
    },
  },
  server: { proxy: { '/api': 'http://127.0.0.1:8080' } },
});
